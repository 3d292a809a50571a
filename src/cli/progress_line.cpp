#include "cli/progress_line.h"

#include <fmt/format.h>
#include <unistd.h>

#include <cstdio>

namespace lull::cli {

namespace {

constexpr double kLiveEverySeconds = 0.1;
constexpr double kPlainEverySeconds = 5.0;

double seconds(std::chrono::steady_clock::duration d) {
  return std::chrono::duration<double>(d).count();
}

}  // namespace

ProgressLine::ProgressLine(Verbosity verbosity, Waiting waiting)
    : verbosity_(verbosity),
      terminal_(isatty(STDERR_FILENO) == 1),
      waiting_(waiting),
      started_(Clock::now()),
      shown_(started_),
      news_(started_) {
  if (verbosity_ == Verbosity::normal) watcher_ = std::thread([this] { watch(); });
}

ProgressLine::~ProgressLine() {
  end();
  if (watcher_.joinable()) watcher_.join();
}

void ProgressLine::end() {
  {
    const std::lock_guard lock(mutex_);
    end_line();
    over_ = true;
  }
  ended_.notify_all();
}

void ProgressLine::end_line() {
  if (open_) std::fputc('\n', stderr);
  open_ = false;
}

void ProgressLine::write(const std::string& line) {
  if (terminal_) {
    fmt::print(stderr, "\r\033[K{}", line);
    open_ = true;
  } else {
    fmt::print(stderr, "{}\n", line);
  }
  std::fflush(stderr);
}

std::string ProgressLine::progress_text() const {
  const double elapsed = seconds(news_ - started_);
  const double rate = elapsed > 0.05 ? static_cast<double>(done_) / elapsed : 0;
  std::string line = total_ > 0 ? fmt::format("{}: {} of {}", stage_, done_, total_)
                                : fmt::format("{}: {}", stage_, done_);
  if (rate > 0) line += fmt::format(", {:.0f} frames/s", rate);
  if (rate > 0 && total_ > done_) {
    line += fmt::format(", {:.0f} s left", static_cast<double>(total_ - done_) / rate);
  }
  return line;
}

void ProgressLine::show(std::string_view stage, std::int64_t done, std::int64_t total) {
  if (verbosity_ == Verbosity::quiet) return;
  const std::lock_guard lock(mutex_);
  const auto now = Clock::now();
  const bool is_new = stage != stage_;
  if (is_new) {
    end_line();
    stage_ = stage;
    started_ = now;
    shown_ = now;
  }
  news_ = now;
  done_ = done;
  total_ = total;
  const bool finished = total > 0 && done >= total;
  const double since = seconds(now - shown_);
  if (terminal_ ? (!is_new && !finished && since < kLiveEverySeconds) : since < kPlainEverySeconds)
    return;
  shown_ = now;
  write(progress_text());
}

// Reading may block for any time; only another thread can notice.
void ProgressLine::watch() {
  const std::chrono::duration<double> every(terminal_ ? waiting_.live_s : waiting_.plain_s);
  std::unique_lock lock(mutex_);
  while (!ended_.wait_for(lock, every, [this] { return over_; })) {
    const double without_news_s = seconds(Clock::now() - news_);
    if (without_news_s < every.count()) continue;
    write(fmt::format("{}, nothing new for {:.0f} s",
                      stage_.empty() ? std::string("opening") : progress_text(), without_news_s));
    shown_ = Clock::now();
  }
}

}  // namespace lull::cli
