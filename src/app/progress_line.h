#pragma once

#include <chrono>
#include <cstdint>
#include <string>
#include <string_view>

namespace lull::app {

/// Shows progress on standard error: one live line a stage with frames/s and the time left on a
/// terminal, a plain line every few seconds otherwise, nothing when quiet.
class ProgressLine {
 public:
  explicit ProgressLine(bool quiet);
  ~ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;

  void show(std::string_view stage, std::int64_t done, std::int64_t total);

  /// Ends the live line, so that other text may follow.
  void end();

 private:
  using Clock = std::chrono::steady_clock;

  bool quiet_;
  bool terminal_;
  bool open_ = false;  ///< a live line stands without its line end
  std::string stage_;
  Clock::time_point started_;
  Clock::time_point shown_;
};

}  // namespace lull::app
