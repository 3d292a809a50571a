#include "night/duplicates.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <optional>
#include <set>

#include "capture/sequence_pattern.h"
#include "core/error.h"
#include "report/fingerprint.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;

// Captures of the same camera have the same length; their first bytes beyond the header differ.
constexpr std::size_t kFirstLook = 65'536;

std::string first_bytes_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::string bytes(kFirstLook, '\0');
  file.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  bytes.resize(static_cast<std::size_t>(std::max<std::streamsize>(file.gcount(), 0)));
  return report::sha256_of(bytes);
}

std::optional<std::string> checksum(const std::string& path) {
  try {
    return report::fingerprint_of(path).sha256;
  } catch (const InputError&) {
    return std::nullopt;
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

std::vector<Duplicate> take_duplicates(std::vector<capture::FoundCapture>& captures) {
  std::map<std::uintmax_t, std::vector<std::size_t>> by_length;
  for (std::size_t i = 0; i < captures.size(); ++i) {
    if (captures[i].pictures == 0) by_length[captures[i].bytes].push_back(i);
  }
  std::vector<Duplicate> out;
  std::set<std::string> gone;
  for (const auto& [bytes, alike] : by_length) {
    if (alike.size() < 2) continue;
    std::map<std::string, std::vector<std::size_t>> by_beginning;
    for (const std::size_t i : alike) by_beginning[first_bytes_of(captures[i].path)].push_back(i);
    for (const auto& [beginning, same] : by_beginning) {
      if (same.size() < 2) continue;
      std::map<std::string, std::size_t> first;
      for (const std::size_t i : same) {
        const auto sum = checksum(captures[i].path);
        if (!sum) continue;
        const auto [known, is_new] = first.emplace(*sum, i);
        if (is_new) continue;
        out.push_back({captures[i].path, captures[known->second].path});
        gone.insert(captures[i].path);
      }
    }
  }
  std::erase_if(captures, [&](const auto& one) { return gone.contains(one.path); });
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
