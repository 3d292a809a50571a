#include "capture/folder.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <map>
#include <optional>
#include <set>
#include <system_error>
#include <tuple>

#include "capture/fits_axes.h"
#include "capture/plain_file.h"
#include "capture/sequence_names.h"
#include "core/error.h"

namespace lull::capture {

namespace {

namespace fs = std::filesystem;

constexpr int kMostDeep = 4;
constexpr std::size_t kMostCaptures = 20'000;
constexpr std::int64_t kFewestPictures = 3;  // fewer are not taken for a sequence

std::string lower(std::string text) {
  for (char& c : text) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return text;
}

bool is_video(const fs::path& path) {
  static const std::set<std::string> endings = {".ser", ".avi", ".mkv", ".mov", ".mp4",
                                                ".m4v", ".nut", ".y4m", ".mts", ".mpg"};
  return endings.contains(lower(path.extension().string()));
}

bool is_picture(const fs::path& path) {
  static const std::set<std::string> endings = {".png", ".tif", ".tiff", ".fits", ".fit", ".fts"};
  return endings.contains(lower(path.extension().string()));
}

struct Sequence {
  FoundCapture capture;
  SequenceNumbers numbers;
};

/// By the texts before and after the number.
using Sequences = std::map<std::pair<std::string, std::string>, Sequence>;

class Search {
 public:
  Search(fs::path root, fs::path results) : root_(std::move(root)), results_(std::move(results)) {}

  void look_into(const fs::path& below, int depth) {
    std::error_code error;
    Sequences sequences;
    for (fs::directory_iterator entry(root_ / below, error), end; !error && entry != end;
         entry.increment(error)) {
      if (found_.captures.size() >= kMostCaptures) return too_many();
      look_at(*entry, below, depth, sequences);
    }
    if (error) report(below, error);
    for (auto& [texts, sequence] : sequences) {
      if (sequence.capture.pictures < kFewestPictures) continue;
      name(sequence.capture, below, sequence.numbers.pattern(texts.first, texts.second));
      found_.captures.push_back(std::move(sequence.capture));
    }
  }

  FolderContent content() && {
    report_passed_over(links_, "a link that leads out of the folder, or to nothing",
                       "links that lead out of the folder, or to nothing",
                       "give the folder that it leads to, or copy the file");
    const std::string deep = fmt::format("more than {} folders deep", kMostDeep);
    report_passed_over(deep_, deep, deep, "begin in a folder below, or move it up");
    std::sort(found_.captures.begin(), found_.captures.end(), [](const auto& a, const auto& b) {
      return std::tie(a.folder, a.name) < std::tie(b.folder, b.name);
    });
    return std::move(found_);
  }

 private:
  void look_at(const fs::directory_entry& entry, const fs::path& below, int depth,
               Sequences& sequences) {
    const fs::path file = entry.path().filename();
    if (file.string().starts_with('.')) return;
    std::error_code ignored;
    if (!entry.is_symlink(ignored) && entry.is_directory(ignored)) {
      if (fs::equivalent(entry.path(), results_, ignored)) return;
      if (depth < kMostDeep) {
        look_into(below / file, depth + 1);
      } else {
        look_for_deep(below / file);
      }
      return;
    }
    if (!is_video(file) && !is_picture(file)) return;
    const auto facts = plain_file(entry.path(), Links::followed);
    if (entry.is_symlink(ignored) && (!facts || !lies_within(entry.path(), root_))) {
      if (is_video(file)) links_.push_back(entry.path().string());
      return;
    }
    if (!facts) return;
    if (is_video(file) || is_fits_cube(entry.path())) {
      FoundCapture capture;
      name(capture, below, file.string());
      capture.bytes = facts->bytes;
      capture.modified_s = facts->modified_s;
      found_.captures.push_back(std::move(capture));
    } else if (const auto numbered = NumberedName::parse(file.string())) {
      Sequence& sequence = sequences[{numbered->before, numbered->after}];
      sequence.numbers.add(numbered->digits);
      sequence.capture.bytes += facts->bytes;
      sequence.capture.modified_s = std::max(sequence.capture.modified_s, facts->modified_s);
      ++sequence.capture.pictures;
    }
  }

  void name(FoundCapture& capture, const fs::path& below, const std::string& name) const {
    capture.name = name;
    capture.folder = below.generic_string();
    capture.path = (root_ / below / name).string();
    capture.id = id_of((below / name).generic_string());
  }

  void report(const fs::path& below, const std::error_code& error) {
    FolderProblem problem = {
        fmt::format("{}: cannot be read: {}", (root_ / below).string(), error.message()),
        "check that the disk is there and that you may read the folder"};
    if (below.empty()) throw InputError(problem.what + "; " + problem.remedy);
    found_.problems.push_back(std::move(problem));
  }

  // One capture in it is enough to tell of the folder.
  void look_for_deep(const fs::path& below) {
    std::error_code error;
    for (fs::directory_iterator entry(root_ / below, error), end; !error && entry != end;
         entry.increment(error)) {
      if (!is_video(entry->path())) continue;
      deep_.push_back(entry->path().string());
      return;
    }
  }

  void report_passed_over(std::vector<std::string>& names, const std::string& one,
                          const std::string& several, const std::string& remedy) {
    if (names.empty()) return;
    std::sort(names.begin(), names.end());
    std::string what = fmt::format("{} is left out: {}", names.front(), one);
    if (names.size() > 1)
      what =
          fmt::format("{} and {} more are left out: {}", names.front(), names.size() - 1, several);
    found_.problems.push_back({what, remedy});
  }

  void too_many() {
    if (said_too_many_) return;
    said_too_many_ = true;
    found_.problems.push_back({fmt::format("only the first {} captures are shown", kMostCaptures),
                               "begin in a folder below"});
  }

  fs::path root_;
  fs::path results_;
  FolderContent found_;
  std::vector<std::string> links_;  ///< named like captures, that are passed over
  std::vector<std::string> deep_;   ///< a capture of each folder that lies too deep
  bool said_too_many_ = false;
};

}  // namespace

std::string id_of(const std::string& name) {
  std::uint64_t hash = 0xcbf29ce484222325U;
  for (const char c : name) {
    hash ^= static_cast<unsigned char>(c);
    hash *= 0x100000001b3U;
  }
  return fmt::format("{:016x}", hash);
}

bool lies_within(const fs::path& path, const fs::path& folder) {
  std::error_code error;
  const fs::path inner = fs::weakly_canonical(path, error);
  if (error) return false;
  const fs::path outer = fs::canonical(folder, error);
  if (error) return false;
  const auto [end, rest] = std::mismatch(outer.begin(), outer.end(), inner.begin(), inner.end());
  return end == outer.end() && rest != inner.end();
}

FolderContent captures_in(const fs::path& folder, const fs::path& results) {
  Search search(folder, results);
  search.look_into({}, 0);
  return std::move(search).content();
}

}  // namespace lull::capture
