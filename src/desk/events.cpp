#include "desk/events.h"

#include <algorithm>
#include <nlohmann/json.hpp>
#include <utility>

#include "desk/problem.h"
#include "files/name_text.h"

namespace lull::desk {

Events::Stream::~Stream() {
  const std::scoped_lock lock(events_.guard_);
  std::erase(events_.streams_, this);
}

std::optional<std::string> Events::Stream::next() {
  std::unique_lock lock(events_.guard_);
  if (!begun_) {  // so that the browser knows at once that the stream is there
    begun_ = true;
    return ": the desk\n\n";
  }
  events_.news_.wait_for(lock, kKeepAlive,
                         [this] { return events_.closed_ || left_ || !waiting_.empty(); });
  if (events_.closed_ || left_) return std::nullopt;
  std::string text;
  for (const auto& [thing, event] : waiting_) text += event;
  waiting_.clear();
  return text.empty() ? ": still here\n\n" : text;
}

// A stream finds out by itself only when it writes again. A browser that loads pages one after
// another would soon be refused.
void Events::end_those_gone() {
  std::erase_if(streams_, [](Stream* stream) {
    stream->left_ = stream->is_gone_ && stream->is_gone_();
    return stream->left_;
  });
  news_.notify_all();
}

std::shared_ptr<Events::Stream> Events::open(std::function<bool()> is_gone) {
  const std::scoped_lock lock(guard_);
  if (streams_.size() >= kMostStreams) end_those_gone();
  if (streams_.size() >= kMostStreams)
    throw Problem(503, "too many pages listen to the desk at once", "close some of them");
  streams_.reserve(kMostStreams);  // no exception once the stream is there
  auto stream = std::make_shared<Stream>(*this, std::move(is_gone));
  streams_.push_back(stream.get());
  return stream;
}

void Events::publish(const std::string& event, const std::string& thing,
                     const nlohmann::json& data) {
  const std::string text = "event: " + event + "\ndata: " + files::json_text(data, -1) + "\n\n";
  const std::string key = event + " " + thing;
  const std::scoped_lock lock(guard_);
  for (Stream* stream : streams_) {
    std::erase_if(stream->waiting_, [&](const auto& waiting) { return waiting.first == key; });
    stream->waiting_.emplace_back(key, text);
  }
  news_.notify_all();
}

bool Events::has_listeners() const {
  const std::scoped_lock lock(guard_);
  return !streams_.empty();
}

void Events::close() {
  const std::scoped_lock lock(guard_);
  closed_ = true;
  news_.notify_all();
}

}  // namespace lull::desk
