#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>

namespace lull::cli {

/// Whether progress is shown.
enum class Verbosity { normal, quiet };

/// Shows progress on standard error: one live line a stage with frames/s and the time left on a
/// terminal, a plain line every few seconds otherwise, nothing when quiet. While nothing arrives,
/// as from a slow network, it continues and shows for how long.
class ProgressLine {
 public:
  /// How long without news until that is shown, and how often then, s.
  struct Waiting {
    double live_s = 1;
    double plain_s = 10;
  };

  explicit ProgressLine(Verbosity verbosity) : ProgressLine(verbosity, Waiting{}) {}

  ProgressLine(Verbosity verbosity, Waiting waiting);
  ~ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;

  void show(std::string_view stage, std::int64_t done, std::int64_t total);

  /// Ends the live line, so that other text may follow.
  void end();

 private:
  using Clock = std::chrono::steady_clock;

  void end_line();
  void write(const std::string& line);
  [[nodiscard]] std::string progress_text() const;
  void watch();

  std::mutex mutex_;  ///< of all that follows; the watcher writes too
  std::condition_variable ended_;
  Verbosity verbosity_;
  bool terminal_;
  Waiting waiting_;
  bool open_ = false;  ///< a live line has no line end yet
  bool over_ = false;  ///< no more news will come
  std::string stage_;
  std::int64_t done_ = 0;
  std::int64_t total_ = 0;
  Clock::time_point started_;
  Clock::time_point shown_;
  Clock::time_point news_;  ///< when something was done
  std::thread watcher_;
};

}  // namespace lull::cli
