#include "cli/progress_line.h"

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <system_error>

#include "cli/streams.h"

namespace lull::cli {

namespace {

constexpr double kLiveEverySeconds = 0.1;
constexpr double kJsonEverySeconds = 0.25;
constexpr double kPlainEverySeconds = 5.0;
constexpr double kFirstTimeLeftS = 1.0;  // a run must have lasted, before a time left is given
constexpr double kFirstRateS = 0.5;

double seconds(std::chrono::steady_clock::duration d) {
  return std::chrono::duration<double>(d).count();
}

// A longer line would wrap, and what it overwrites would stay.
std::size_t most_columns() {
  winsize size{};
  if (ioctl(STDERR_FILENO, TIOCGWINSZ, &size) != 0 || size.ws_col < 2) return std::string::npos;
  return size.ws_col - 1U;
}

}  // namespace

std::string duration_words(double seconds) {
  const auto whole = static_cast<std::int64_t>(std::ceil(seconds));
  if (whole < 100) return fmt::format("{} s", whole);
  const std::int64_t minutes = (whole + 30) / 60;
  if (minutes < 100) return fmt::format("{} min", minutes);
  return fmt::format("{} h {} min", minutes / 60, minutes % 60);
}

std::string fitted_line(const std::vector<std::string>& clauses, std::size_t columns) {
  std::string line = clauses.front();
  if (line.size() > columns) {
    const std::size_t end = line.rfind(' ', columns);
    return line.substr(0, end == std::string::npos ? columns : end);
  }
  for (auto clause = clauses.begin() + 1; clause != clauses.end(); ++clause) {
    if (line.size() + 2 + clause->size() > columns) break;
    line += ", " + *clause;
  }
  return line;
}

ProgressLine::ProgressLine(ProgressStyle style, std::vector<run::Stage> stages, Waiting waiting)
    : style_(style),
      terminal_(isatty(STDERR_FILENO) == 1),
      waiting_(waiting),
      run_(std::move(stages)),
      started_(Clock::now()),
      stage_started_(started_),
      shown_(started_),
      news_(started_) {
  if (style_ != ProgressStyle::words) return;
  try {
    watcher_ = std::thread([this] { watch(); });
  } catch (const std::system_error&) {
    return;  // no thread left: then only, a wait goes without a word
  }
}

ProgressLine::~ProgressLine() {
  end();
  if (watcher_.joinable()) watcher_.join();
}

void ProgressLine::end() {
  {
    const std::lock_guard lock(mutex_);
    if (open_) write_error("\r\033[K");
    open_ = false;
    over_ = true;
  }
  ended_.notify_all();
}

void ProgressLine::write(const std::string& line) {
  if (style_ == ProgressStyle::words && terminal_) {
    write_error("\r\033[K" + line);
    open_ = true;
  } else {
    write_error(line + "\n");
  }
}

std::string ProgressLine::fitted(const std::vector<std::string>& clauses) const {
  return fitted_line(clauses, terminal_ ? most_columns() : std::string::npos);
}

std::vector<std::string> ProgressLine::clauses() const {
  const double passed_s = seconds(news_ - started_);
  std::string line = fmt::format("{:.0f}%", std::floor(100 * run_.share()));
  const auto left_s = run_.left_s(passed_s);
  if (left_s && passed_s >= kFirstTimeLeftS) line += ", " + duration_words(*left_s) + " left";
  std::vector<std::string> out = {line + ": " + stage_};
  const bool counted = run_.counts_once() && total_ != 1;
  if (!counted) return out;
  out.push_back(total_ > 0 ? fmt::format("{} of {} frames", done_, total_)
                           : fmt::format("{} frames", done_));
  const double stage_s = seconds(news_ - stage_started_);
  if (stage_s >= kFirstRateS && done_ > 0)
    out.push_back(fmt::format("{:.0f} frames/s", static_cast<double>(done_) / stage_s));
  return out;
}

std::string ProgressLine::json() const {
  const double passed_s = seconds(news_ - started_);
  nlohmann::json event = {{"event", "progress"}, {"stage", stage_},       {"done", done_},
                          {"total", total_},     {"share", run_.share()}, {"passed_s", passed_s}};
  const auto left_s = run_.left_s(passed_s);
  event["left_s"] = left_s ? nlohmann::json(*left_s) : nlohmann::json();
  return event.dump();
}

void ProgressLine::show(std::string_view stage, std::int64_t done, std::int64_t total) {
  if (style_ == ProgressStyle::quiet) return;
  const std::lock_guard lock(mutex_);
  const auto now = Clock::now();
  const bool is_new = stage != stage_;
  if (is_new) {
    stage_ = stage;
    stage_started_ = now;
  }
  run_.advance(stage, done, total);
  news_ = now;
  done_ = done;
  total_ = total;
  const double since = seconds(now - shown_);
  if (style_ == ProgressStyle::json) {
    if (!is_new && since < kJsonEverySeconds) return;
    shown_ = now;
    return write(json());
  }
  if (terminal_ ? (!is_new && since < kLiveEverySeconds) : since < kPlainEverySeconds) return;
  shown_ = now;
  write(fitted(clauses()));
}

// Reading may block for any time; only another thread can notice.
void ProgressLine::watch() {
  const std::chrono::duration<double> every(terminal_ ? waiting_.live_s : waiting_.plain_s);
  std::unique_lock lock(mutex_);
  while (!ended_.wait_for(lock, every, [this] { return over_; })) {
    const double without_news_s = seconds(Clock::now() - news_);
    if (without_news_s < every.count()) continue;
    std::vector<std::string> line = {"opening"};
    if (!stage_.empty()) line = clauses();
    line.insert(line.begin() + 1, "nothing new for " + duration_words(without_news_s));
    write(fitted(line));
    shown_ = Clock::now();
  }
}

}  // namespace lull::cli
