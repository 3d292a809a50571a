#pragma once

#include <chrono>
#include <condition_variable>
#include <cstdint>
#include <mutex>
#include <string>
#include <string_view>
#include <thread>
#include <vector>

#include "run/run_share.h"

namespace lull::cli {

/// How progress is shown on standard error.
enum class ProgressStyle {
  quiet,  ///< not at all
  words,  ///< on a terminal one live line, else a plain line every few seconds
  json,   ///< for programs: one JSON object a line (NDJSON)
};

/// Shows the progress of one run on standard error: the share of the whole run that is done, the
/// time left, and the stage. While nothing arrives, as from a slow network, it continues and shows
/// for how long. At the end the live line is gone.
class ProgressLine {
 public:
  /// How long without news until that is shown, and how often then, s.
  struct Waiting {
    double live_s = 1;
    double plain_s = 10;
  };

  ProgressLine(ProgressStyle style, std::vector<run::Stage> stages)
      : ProgressLine(style, std::move(stages), Waiting{}) {}

  ProgressLine(ProgressStyle style, std::vector<run::Stage> stages, Waiting waiting);
  ~ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;

  void show(std::string_view stage, std::int64_t done, std::int64_t total);

  /// Ends the live line, so that other text may follow.
  void end();

 private:
  using Clock = std::chrono::steady_clock;

  void write(const std::string& line);
  [[nodiscard]] std::vector<std::string> clauses() const;
  [[nodiscard]] std::string fitted(const std::vector<std::string>& clauses) const;
  [[nodiscard]] std::string json() const;
  void watch();

  std::mutex mutex_;  ///< of all that follows; the watcher writes too
  std::condition_variable ended_;
  ProgressStyle style_;
  bool terminal_;
  Waiting waiting_;
  run::RunShare run_;
  bool open_ = false;  ///< a live line has no line end yet
  bool over_ = false;  ///< no more news will come
  std::string stage_;
  std::int64_t done_ = 0;
  std::int64_t total_ = 0;
  Clock::time_point started_;        ///< the run
  Clock::time_point stage_started_;  ///< the stage
  Clock::time_point shown_;
  Clock::time_point news_;  ///< when something was done
  std::thread watcher_;
};

/// The clauses, joined by commas, without the last ones that do not fit; at least the first, which
/// ends after a word.
[[nodiscard]] std::string fitted_line(const std::vector<std::string>& clauses, std::size_t columns);

/// A time for people: "12 s", "3 min", "1 h 20 min".
[[nodiscard]] std::string duration_words(double seconds);

}  // namespace lull::cli
