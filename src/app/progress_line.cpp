#include "app/progress_line.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>

namespace lull::app {

namespace {

constexpr double kLiveEvery_s = 0.1;
constexpr double kPlainEvery_s = 5.0;

}  // namespace

ProgressLine::ProgressLine(bool quiet) : quiet_(quiet), terminal_(isatty(STDERR_FILENO) == 1) {}

ProgressLine::~ProgressLine() { end(); }

void ProgressLine::end() {
  if (open_) std::fputc('\n', stderr);
  open_ = false;
}

void ProgressLine::show(std::string_view stage, std::int64_t done, std::int64_t total) {
  if (quiet_) return;
  const auto now = Clock::now();
  const bool is_new = stage != stage_;
  if (is_new) {
    end();
    stage_ = stage;
    started_ = now;
    shown_ = now;
  }
  const auto seconds = [](Clock::duration d) { return std::chrono::duration<double>(d).count(); };
  const bool finished = total > 0 && done >= total;
  const double since = seconds(now - shown_);
  if (terminal_ ? (!is_new && !finished && since < kLiveEvery_s) : since < kPlainEvery_s) return;
  shown_ = now;
  const double elapsed = seconds(now - started_);
  const double rate = elapsed > 0.05 ? static_cast<double>(done) / elapsed : 0;
  std::string line = total > 0 ? fmt::format("{}: {} of {}", stage, done, total)
                               : fmt::format("{}: {}", stage, done);
  if (rate > 0) line += fmt::format(", {:.0f} frames/s", rate);
  if (rate > 0 && total > done) {
    line += fmt::format(", {:.0f} s left", static_cast<double>(total - done) / rate);
  }
  if (terminal_) {
    fmt::print(stderr, "\r\033[K{}", line);
    open_ = true;
  } else {
    fmt::print(stderr, "{}\n", line);
  }
  std::fflush(stderr);
}

}  // namespace lull::app
