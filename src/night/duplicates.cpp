#include "night/duplicates.h"

#include <fmt/format.h>
#include <sys/stat.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <functional>
#include <limits>
#include <map>
#include <optional>
#include <set>
#include <utility>

#include "capture/sequence_pattern.h"
#include "core/cancel.h"
#include "core/parallel.h"
#include "report/fingerprint.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;

// Captures of the same camera have the same length; their first bytes beyond the header differ,
// unless they show the dark sky: then others do.
constexpr std::uintmax_t kBeginning = 16'384;
constexpr std::uintmax_t kPlaces = 8;
constexpr std::uintmax_t kPlace = 4096;
constexpr std::size_t kBlock = std::size_t{1} << 20U;

/// Captures that may be the same, by their places in the list.
using Group = std::vector<std::size_t>;

/// Part of a file.
struct Stretch {
  std::uintmax_t at;
  std::uintmax_t bytes;
};

// None where it cannot be read. Files with the same hash are compared before they count as alike.
std::optional<std::size_t> hash_of(const std::string& path, const std::vector<Stretch>& stretches) {
  std::ifstream file(path, std::ios::binary);
  std::size_t hash = 0;
  std::string block;
  for (const Stretch& stretch : stretches) {
    file.seekg(static_cast<std::streamoff>(stretch.at));
    for (std::uintmax_t left = stretch.bytes; left > 0 && file;) {
      stop_if_cancelled();
      block.resize(static_cast<std::size_t>(std::min<std::uintmax_t>(left, kBlock)));
      file.read(block.data(), static_cast<std::streamsize>(block.size()));
      left -= block.size();
      constexpr std::size_t kOdd = 0x9E3779B97F4A7C15;
      hash = (hash ^ std::hash<std::string>()(block)) * kOdd;
    }
  }
  if (!file) return std::nullopt;
  return hash;
}

std::vector<Stretch> places_in(std::uintmax_t bytes) {
  std::vector<Stretch> out;
  if (bytes <= kPlace) return {{0, bytes}};
  out.reserve(kPlaces);
  for (std::uintmax_t i = 1; i <= kPlaces; ++i)
    out.push_back(
        {(bytes - kPlace) / kPlaces * i + (bytes - kPlace) % kPlaces * i / kPlaces, kPlace});
  return out;
}

// Groups of those that are alike in these stretches of theirs.
template <class StretchesOf>
std::vector<Group> parted(const std::vector<Group>& groups,
                          const std::vector<capture::FoundCapture>& captures,
                          const StretchesOf& stretches_of) {
  std::vector<std::size_t> all;
  for (const Group& group : groups) all.insert(all.end(), group.begin(), group.end());
  std::vector<std::optional<std::size_t>> hashes(captures.size());
  parallel_for(static_cast<std::int64_t>(all.size()), [&](std::int64_t i) {
    const std::size_t at = all[static_cast<std::size_t>(i)];
    hashes[at] = hash_of(captures[at].path, stretches_of(captures[at].bytes));
  });
  std::vector<Group> out;
  for (const Group& group : groups) {
    std::map<std::size_t, Group> by_hash;
    for (const std::size_t i : group) {
      if (hashes[i]) by_hash[*hashes[i]].push_back(i);
    }
    for (auto& [hash, alike] : by_hash) {
      if (alike.size() > 1) out.push_back(std::move(alike));
    }
  }
  return out;
}

// Takes out further names of a file.
void take_links(std::vector<capture::FoundCapture>& captures, std::vector<Duplicate>& out) {
  std::map<std::pair<dev_t, ino_t>, std::string> files;
  std::erase_if(captures, [&](const capture::FoundCapture& one) {
    struct stat status {};
    if (one.pictures > 0 || ::stat(one.path.c_str(), &status) != 0) return false;
    const auto [known, is_new] = files.emplace(std::pair(status.st_dev, status.st_ino), one.path);
    if (!is_new) out.push_back({one.path, known->second});
    return !is_new;
  });
}

std::vector<Group> of_one_length(const std::vector<capture::FoundCapture>& captures) {
  std::map<std::uintmax_t, Group> by_length;
  for (std::size_t i = 0; i < captures.size(); ++i) {
    if (captures[i].pictures == 0) by_length[captures[i].bytes].push_back(i);
  }
  std::vector<Group> out;
  for (auto& [bytes, alike] : by_length) {
    if (alike.size() > 1) out.push_back(std::move(alike));
  }
  return out;
}

// Those of a group that have the same bytes as one before them.
void add_duplicates(const std::vector<capture::FoundCapture>& captures, const Group& alike,
                    std::vector<Duplicate>& out) {
  Group different;
  for (const std::size_t i : alike) {
    const auto first = std::find_if(different.begin(), different.end(), [&](std::size_t known) {
      return same_bytes(captures[known].path, captures[i].path);
    });
    if (first == different.end())
      different.push_back(i);
    else
      out.push_back({captures[i].path, captures[*first].path});
  }
}

std::string sequence_fingerprint(const capture::SequencePattern& pattern) {
  const fs::path folder = pattern.folder.empty() ? fs::path(".") : fs::path(pattern.folder);
  std::map<std::string, std::uintmax_t> pictures;
  std::error_code error;
  for (fs::directory_iterator entry(folder, error), end; !error && entry != end;
       entry.increment(error)) {
    const std::string name = entry->path().filename().string();
    std::error_code ignored;
    if (pattern.digits_in(name)) pictures[name] = entry->file_size(ignored);
  }
  std::vector<std::string> names;
  std::string all;
  for (const auto& [name, bytes] : pictures) {
    names.push_back(name);
    all += fmt::format("{} {}\n", bytes, name);
  }
  if (names.empty()) return report::sha256_of(all);
  for (const std::size_t i : {std::size_t{0}, names.size() / 2, names.size() - 1})
    all += report::fingerprint_of(folder / names[i]).sha256 + "\n";
  return report::sha256_of(all);
}

}  // namespace

std::vector<Duplicate> take_duplicates(std::vector<capture::FoundCapture>& captures,
                                       std::uintmax_t most_read) {
  std::vector<Duplicate> out;
  take_links(captures, out);
  std::vector<Group> groups = parted(of_one_length(captures), captures, [](std::uintmax_t bytes) {
    return std::vector<Stretch>{{0, std::min(bytes, kBeginning)}};
  });
  groups = parted(groups, captures, places_in);
  std::uintmax_t count = 0;
  for (const Group& group : groups) count += group.size();
  const std::uintmax_t each = most_read / std::max<std::uintmax_t>(count, 1);
  if (each > kBeginning) {
    groups = parted(groups, captures, [each](std::uintmax_t bytes) {
      return std::vector<Stretch>{{0, std::min(bytes, each)}};
    });
  }
  for (const Group& group : groups) {
    const capture::FoundCapture& first = captures[group.front()];
    if (first.bytes <= each) {
      add_duplicates(captures, group, out);
      continue;
    }
    for (std::size_t i = 1; i < group.size(); ++i)
      out.push_back({captures[group[i]].path, first.path, false});
  }
  std::set<std::string> gone;
  for (const Duplicate& one : out) {
    if (one.is_sure) gone.insert(one.path);
  }
  std::erase_if(captures, [&](const auto& one) { return gone.contains(one.path); });
  std::sort(out.begin(), out.end(),
            [](const Duplicate& a, const Duplicate& b) { return a.path < b.path; });
  return out;
}

bool same_bytes(const std::string& a, const std::string& b) {
  std::error_code ignored;
  if (fs::equivalent(a, b, ignored)) return true;  // one file under two names
  std::ifstream one(a, std::ios::binary);
  std::ifstream other(b, std::ios::binary);
  std::string block(kBlock, '\0');
  std::string other_block(kBlock, '\0');
  while (one && other) {
    stop_if_cancelled();
    one.read(block.data(), static_cast<std::streamsize>(kBlock));
    other.read(other_block.data(), static_cast<std::streamsize>(kBlock));
    const auto count = static_cast<std::size_t>(one.gcount());
    if (one.gcount() != other.gcount() ||
        !std::equal(block.begin(), block.begin() + static_cast<std::ptrdiff_t>(count),
                    other_block.begin()))
      return false;
  }
  return one.eof() && other.eof();
}

std::vector<std::string> without_copies(const std::vector<std::string>& paths) {
  std::vector<capture::FoundCapture> files(paths.size());
  for (std::size_t i = 0; i < paths.size(); ++i) {
    std::error_code error;
    files[i].path = paths[i];
    files[i].bytes = fs::file_size(paths[i], error);
    // A sequence of pictures: never a copy.
    if (error) files[i].pictures = 1;
  }
  static_cast<void>(take_duplicates(files, std::numeric_limits<std::uintmax_t>::max()));
  std::vector<std::string> out;
  out.reserve(files.size());
  for (const capture::FoundCapture& one : files) out.push_back(one.path);
  return out;
}

std::string input_fingerprint(const std::string& path) {
  std::error_code ignored;
  if (!fs::exists(path, ignored)) {
    if (const auto pattern = capture::parse_pattern(path)) return sequence_fingerprint(*pattern);
  }
  const report::Fingerprint print = report::fingerprint_of(path);
  return fmt::format("{}:{}", print.bytes, print.sha256);
}

}  // namespace lull::night
