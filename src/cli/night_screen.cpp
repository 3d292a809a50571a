#include "cli/night_screen.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/help.h"
#include "cli/streams.h"
#include "files/name_text.h"

namespace lull::cli {

namespace {

using night::Fate;

constexpr std::size_t kMostAtWork = 8;  // lines
constexpr std::size_t kWidestName = 40;

std::string fitted(std::string line, std::size_t columns) {
  if (line.size() >= columns) {
    std::size_t end = columns - 1;
    while (end > 0 && (static_cast<unsigned char>(line[end]) & 0xC0U) == 0x80U) --end;
    line.resize(end);
  }
  return line;
}

// The end of a long name says most.
std::string short_name(const std::string& name) {
  const std::string shown = printable(name);
  if (shown.size() <= kWidestName) return shown;
  std::size_t at = shown.size() - kWidestName + 3;
  while (at < shown.size() && (static_cast<unsigned char>(shown[at]) & 0xC0U) == 0x80U) ++at;
  return "..." + shown.substr(at);
}

std::string ended_text(const night::JobResult& result, const night::NightProgress& progress) {
  const std::string count = fmt::format("{} of {}", progress.done, progress.total);
  const night::Record& record = result.record;
  if (result.fate == Fate::failed)
    return fmt::format("{}: {} failed: {}", count, record.name, record.problem);
  if (result.fate == Fate::skipped)
    return fmt::format("{}: {}: {}", count, record.name, record.problem);
  return fmt::format("{}: {} {}", count, record.name,
                     result.fate == Fate::made ? "made" : "was done before");
}

nlohmann::json progress_json(const night::NightProgress& progress) {
  nlohmann::json at_work = nlohmann::json::array();
  for (const night::AtWork& one : progress.at_work) {
    at_work.push_back(
        {{"name", files::name_text(one.name)}, {"stage", one.stage}, {"share", one.share}});
  }
  return {{"event", "progress"},
          {"done", progress.done},
          {"total", progress.total},
          {"failed", progress.failed},
          {"share", progress.share},
          {"left_s", progress.left_s ? nlohmann::json(*progress.left_s) : nlohmann::json()},
          {"at_work", at_work}};
}

}  // namespace

std::vector<std::string> night_block(const night::NightProgress& progress, std::size_t columns) {
  std::string line = fmt::format("{:.0f}%", 100 * std::clamp(progress.share, 0.0, 1.0));
  if (progress.left_s) line += ", " + duration_words(*progress.left_s) + " left";
  line += fmt::format(": {} of {} pictures", progress.done, progress.total);
  if (progress.failed > 0) line += fmt::format(", {} failed", progress.failed);
  std::vector<std::string> out = {fitted(line, columns)};
  for (const night::AtWork& one : progress.at_work) {
    if (out.size() > kMostAtWork) break;
    out.push_back(
        fitted(fmt::format("  {:3.0f}%  {}  {}", 100 * one.share, short_name(one.name), one.stage),
               columns));
  }
  return out;
}

NightScreen::NightScreen(ProgressStyle style)
    : style_(style), terminal_(style == ProgressStyle::words && isatty(STDERR_FILENO) == 1) {}

NightScreen::~NightScreen() {
  const std::scoped_lock lock(guard_);
  erase();
}

void NightScreen::erase() {
  if (lines_ == 0) return;
  write_error(lines_ > 1 ? fmt::format("\r\033[{}A\033[J", lines_ - 1) : "\r\033[J");
  lines_ = 0;
}

void NightScreen::write_block(const std::vector<std::string>& lines) {
  erase();
  write_error(fmt::format("{}", fmt::join(lines, "\n")));
  lines_ = lines.size();
}

void NightScreen::show(const night::NightProgress& progress) {
  const std::scoped_lock lock(guard_);
  if (style_ == ProgressStyle::json) {
    write_error(progress_json(progress).dump() + "\n");
  } else if (terminal_) {
    write_block(night_block(progress, static_cast<std::size_t>(error_columns())));
  }
}

void NightScreen::end(const night::JobResult& result, const night::NightProgress& progress) {
  const std::scoped_lock lock(guard_);
  if (style_ == ProgressStyle::quiet) return;
  if (style_ == ProgressStyle::json) {
    nlohmann::json event = progress_json(progress);
    event["event"] = "ended";
    event["name"] = files::name_text(result.record.name);
    event["state"] = night::state_of(result.record);
    return write_error(event.dump() + "\n");
  }
  erase();
  write_error(printable(ended_text(result, progress) + "\n"));
  if (terminal_) write_block(night_block(progress, static_cast<std::size_t>(error_columns())));
}

void NightScreen::look(std::int64_t done, std::int64_t total) {
  if (!terminal_) return;
  const std::scoped_lock lock(guard_);
  write_block({fmt::format("looking through the folder: {} of {}", done, total)});
}

night::NightWatcher NightScreen::watcher() {
  return {[this](const night::NightProgress& progress) { show(progress); },
          [this](const night::JobResult& result, const night::NightProgress& progress) {
            end(result, progress);
          }};
}

Progress NightScreen::progress(const CancelToken& cancel) {
  return Progress(
      [this](std::string_view, std::int64_t done, std::int64_t total) { look(done, total); },
      cancel);
}

}  // namespace lull::cli
