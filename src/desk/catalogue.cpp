#include "desk/catalogue.h"

#include <algorithm>
#include <chrono>
#include <ctime>
#include <nlohmann/json.hpp>
#include <utility>

#include "core/error.h"
#include "run/opening.h"

namespace lull::desk {

namespace {

using namespace std::chrono_literals;

constexpr auto kPause = 2s;         // between looks at the folder
constexpr auto kPatience = 1500ms;  // that a list waits for what is under way
constexpr auto kNewsEvery = 500ms;  // while many captures are opened
constexpr std::int64_t kGrowing_s = 5;

std::int64_t now_s() { return static_cast<std::int64_t>(std::time(nullptr)); }

}  // namespace

std::int64_t ListedCapture::frames() const {
  if (found.pictures > 0) return found.pictures;
  return info ? info->storage.likely_frames : 0;
}

capture::CaptureInfo info_of(const std::string& path, const run::Resources& resources) {
  run::CaptureInput input;
  input.captures = {path};
  return run::open_recorded(input, {Progress(), resources})->info();
}

Catalogue::Catalogue(Place place, run::Resources resources, Events& events)
    : place_(std::move(place)), resources_(resources), events_(events) {
  worker_ = std::thread([this] { work(); });
}

Catalogue::~Catalogue() {
  {
    const std::scoped_lock lock(guard_);
    ended_ = true;
  }
  wanted_.notify_all();
  settled_.notify_all();
  worker_.join();
}

void Catalogue::wake() {
  const std::scoped_lock lock(guard_);
  ++asked_;
  wanted_.notify_all();
}

Catalogue::List Catalogue::list() {
  std::unique_lock lock(guard_);
  const std::uint64_t mine = ++asked_;
  wanted_.notify_all();
  const auto is_complete = [&] {
    return looked_ >= mine && std::all_of(captures_.begin(), captures_.end(),
                                          [](const auto& one) { return one.second.opened; });
  };
  List out;
  out.complete = settled_.wait_for(lock, kPatience, [&] { return ended_ || is_complete(); });
  for (const auto& [id, capture] : captures_) out.captures.push_back(capture);
  std::sort(out.captures.begin(), out.captures.end(), [](const auto& a, const auto& b) {
    return std::tie(a.found.folder, a.found.name) < std::tie(b.found.folder, b.found.name);
  });
  out.problems = problems_;
  out.folder_problem = folder_problem_;
  return out;
}

ListedCapture Catalogue::capture(const std::string& id) {
  std::unique_lock lock(guard_);
  auto found = captures_.find(id);
  if (found == captures_.end() || !found->second.opened) {
    const std::uint64_t mine = ++asked_;
    wanted_.notify_all();
    settled_.wait_for(lock, kPatience, [&] {
      found = captures_.find(id);
      return ended_ || (looked_ >= mine && (found == captures_.end() || found->second.opened));
    });
    found = captures_.find(id);
  }
  if (found == captures_.end())
    throw Problem(404, "there is no such capture in the folder", "GET /api/captures lists them");
  if (found->second.problem) throw *found->second.problem;
  if (!found->second.info)
    throw Problem(503, "the capture is still being opened", "try again in a moment");
  return found->second;
}

void Catalogue::work() {
  std::unique_lock lock(guard_);
  while (!ended_) {
    const auto is_asked = [this] { return ended_ || looked_ < asked_; };
    if (events_.has_listeners()) {
      if (!wanted_.wait_for(lock, kPause, is_asked)) ++asked_;
    } else {
      wanted_.wait(lock, is_asked);
    }
    if (ended_) return;
    const std::uint64_t asked = asked_;
    lock.unlock();
    bool changed = look();
    lock.lock();
    looked_ = asked;
    settled_.notify_all();
    lock.unlock();
    auto told = std::chrono::steady_clock::now();
    while (open_next()) {
      changed = true;
      if (std::chrono::steady_clock::now() - told < kNewsEvery) continue;
      events_.publish("captures", "", nlohmann::json::object());
      told = std::chrono::steady_clock::now();
    }
    if (changed) events_.publish("captures", "", nlohmann::json::object());
    lock.lock();
    settled_.notify_all();
  }
}

// @return whether anything changed.
bool Catalogue::look() {
  capture::FolderContent content;
  std::optional<Problem> problem;
  try {
    content = capture::captures_in(place_.folder, place_.results);
  } catch (const InputError&) {
    problem = problem_of(std::current_exception());
  }
  const std::scoped_lock lock(guard_);
  const bool was_problem = folder_problem_.has_value();
  folder_problem_ = std::move(problem);
  if (folder_problem_) {
    const bool changed = !was_problem || !captures_.empty();
    captures_.clear();
    return changed;
  }
  const auto known = [this] {
    std::vector<std::pair<capture::FoundCapture, bool>> out;
    for (const auto& [id, capture] : captures_) out.emplace_back(capture.found, capture.growing);
    return out;
  };
  const auto before = known();
  merge(std::move(content));
  return was_problem || before != known();
}

void Catalogue::merge(capture::FolderContent content) {
  std::map<std::string, ListedCapture> merged;
  for (capture::FoundCapture& found : content.captures) {
    ListedCapture capture;
    capture.growing = now_s() - found.modified_s < kGrowing_s;
    const auto earlier = captures_.find(found.id);
    if (earlier != captures_.end()) {
      capture.opened = earlier->second.opened && earlier->second.found == found;
      capture.info = std::move(earlier->second.info);
      capture.problem = std::move(earlier->second.problem);
    }
    capture.found = std::move(found);
    merged.emplace(capture.found.id, std::move(capture));
  }
  captures_ = std::move(merged);
  problems_.clear();
  for (const capture::FolderProblem& one : content.problems)
    problems_.emplace_back(422, one.what, one.remedy);
}

// @return whether there was one to open.
bool Catalogue::open_next() {
  capture::FoundCapture found;
  {
    const std::scoped_lock lock(guard_);
    if (ended_) return false;
    const auto next = std::find_if(captures_.begin(), captures_.end(),
                                   [](const auto& one) { return !one.second.opened; });
    if (next == captures_.end()) return false;
    found = next->second.found;
  }
  std::optional<capture::CaptureInfo> info;
  std::optional<Problem> problem;
  try {
    info = info_of(found.path, resources_);
  } catch (...) {
    problem = problem_of(std::current_exception());
  }
  const std::scoped_lock lock(guard_);
  const auto known = captures_.find(found.id);
  if (known == captures_.end()) return true;
  known->second.opened = true;
  known->second.info = std::move(info);
  known->second.problem = std::move(problem);
  settled_.notify_all();
  return true;
}

}  // namespace lull::desk
