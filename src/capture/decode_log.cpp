#include "capture/decode_log.h"

#include <algorithm>
#include <string_view>
#include <vector>

namespace lull::capture {

namespace {

/// libav's log callback is one for the process, so those who listen are too.
struct Listeners {
  std::mutex mutex;
  std::vector<const void*> active;
};

Listeners& listeners() {
  static Listeners all;
  return all;
}

/// Damaged text blocks beside the picture (MJPEG) do no harm to it.
[[nodiscard]] bool is_beside_the_picture(std::string_view message) {
  return message.find("APP fields") != std::string_view::npos ||
         message.find("comment") != std::string_view::npos;
}

/// Macroblocks that were made up, and pictures that refer to one that is missing.
[[nodiscard]] bool tells_of_damage_for_certain(std::string_view message) {
  return message.find("error while decoding") != std::string_view::npos ||
         message.find("concealing") != std::string_view::npos ||
         message.find("Frame num gap") != std::string_view::npos;
}

}  // namespace

void silence_libav() { static const DecodeLog listener; }

DecodeLog::DecodeLog() {
  const std::lock_guard lock(listeners().mutex);
  listeners().active.push_back(this);
  av_log_set_callback(&DecodeLog::on_message);
}

DecodeLog::~DecodeLog() {
  const std::lock_guard lock(listeners().mutex);
  std::erase(listeners().active, static_cast<const void*>(this));
}

void DecodeLog::listen(AVCodecContext& context, DamageSigns signs) {
  context.opaque = this;  // libav copies it to the contexts of its threads
  signs_ = signs;
}

void DecodeLog::on_message(void* speaker, int level, const char* format, va_list /*arguments*/) {
  if (speaker == nullptr || format == nullptr || level > AV_LOG_DEBUG) return;
  const AVClass* kind = *static_cast<const AVClass* const*>(speaker);
  if (kind != avcodec_get_class()) return;
  const auto* context = static_cast<const AVCodecContext*>(speaker);
  const std::lock_guard lock(listeners().mutex);
  // Contexts of others in this process may keep anything in `opaque`.
  const auto& active = listeners().active;
  if (std::find(active.begin(), active.end(), context->opaque) == active.end()) return;
  auto& log = *static_cast<DecodeLog*>(context->opaque);
  if (level <= AV_LOG_ERROR || tells_of_damage_for_certain(format)) {
    log.add(format, context->reordered_opaque);
  }
}

void DecodeLog::add(const char* format, std::int64_t packet) {
  if (is_beside_the_picture(format)) return;
  if (signs_ == DamageSigns::certain && !tells_of_damage_for_certain(format)) return;
  const std::lock_guard lock(mutex_);
  damaged_.insert(packet);
}

bool DecodeLog::damaged_within(std::int64_t first, std::int64_t last) const {
  const std::lock_guard lock(mutex_);
  const auto found = damaged_.lower_bound(first);
  return found != damaged_.end() && *found <= last;
}

void DecodeLog::forget() {
  const std::lock_guard lock(mutex_);
  damaged_.clear();
}

}  // namespace lull::capture
