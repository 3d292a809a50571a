#pragma once

#include <cstdint>
#include <mutex>
#include <set>

#include "capture/libav.h"

namespace lull::capture {

/// Which messages of a decoder count as damage of a picture.
enum class DamageSigns {
  every_error,
  certain,  ///< only what cannot mean anything else, such as macroblocks that were concealed
};

/// From now on libav writes nothing to standard error: its lines hold what a file states of itself.
void silence_libav();

/// Errors that libav only writes to its log while it decodes, by packet. FFV1 slices with a bad
/// checksum and broken macroblocks are concealed and come out as good frames otherwise.
/// As long as the program runs, libav writes nothing to standard error.
class DecodeLog {
 public:
  DecodeLog();
  ~DecodeLog();
  DecodeLog(const DecodeLog&) = delete;
  DecodeLog& operator=(const DecodeLog&) = delete;

  /// Listens to `context` and the copies of it that decoder threads use. Packets are identified by
  /// context.reordered_opaque, which the caller sets before each send.
  void listen(AVCodecContext& context, DamageSigns signs);

  /// Is a packet of [first, last] known to be damaged?
  [[nodiscard]] bool damaged_within(std::int64_t first, std::int64_t last) const;

  void forget();

 private:
  static void on_message(void* speaker, int level, const char* format, va_list arguments);
  void add(const char* format, std::int64_t packet);

  mutable std::mutex mutex_;
  std::set<std::int64_t> damaged_;
  DamageSigns signs_ = DamageSigns::every_error;
};

}  // namespace lull::capture
