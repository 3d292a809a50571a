#pragma once

#include <chrono>
#include <condition_variable>
#include <cstddef>
#include <functional>
#include <list>
#include <memory>
#include <mutex>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace lull::desk {

/// Server-sent events (HTML Standard, section 9.2). Who reads slowly gets the newest of each thing
/// and holds up nobody. Any thread.
class Events {
 public:
  static constexpr std::size_t kMostStreams = 16;
  static constexpr std::chrono::seconds kKeepAlive{15};

  /// One page that listens.
  class Stream {
   public:
    Stream(Events& events, std::function<bool()> is_gone)
        : events_(events), is_gone_(std::move(is_gone)) {}

    ~Stream();
    Stream(const Stream&) = delete;
    Stream& operator=(const Stream&) = delete;

    /// The next events as text, waiting for them; a comment where none came for kKeepAlive; none:
    /// the desk ends, or the page has left.
    [[nodiscard]] std::optional<std::string> next();

   private:
    friend class Events;
    Events& events_;
    std::function<bool()> is_gone_;
    bool left_ = false;                                       ///< made room for another
    std::list<std::pair<std::string, std::string>> waiting_;  ///< thing, text
    bool begun_ = false;
  };

  /// @param is_gone  whether the page has left; such streams make room. Empty: it never has.
  /// @throws Problem 503 where kMostStreams are open.
  [[nodiscard]] std::shared_ptr<Stream> open(std::function<bool()> is_gone = {});

  /// @param thing  what it is about: an event that waits to be sent about the same is replaced.
  void publish(const std::string& event, const std::string& thing, const nlohmann::json& data);

  [[nodiscard]] bool has_listeners() const;

  /// Ends all streams, and those that come.
  void close();

 private:
  void end_those_gone();

  mutable std::mutex guard_;
  std::condition_variable news_;
  std::vector<Stream*> streams_;
  bool closed_ = false;
};

}  // namespace lull::desk
