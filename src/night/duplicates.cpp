#include "night/duplicates.h"

#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>

#include "capture/sequence_pattern.h"
#include "core/cancel.h"
#include "report/fingerprint.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;

// Captures of the same camera have the same length; their first bytes beyond the header differ.
constexpr std::size_t kFirstLook = 65'536;
constexpr std::size_t kBlock = std::size_t{1} << 20U;

std::string first_bytes_of(const std::string& path) {
  std::ifstream file(path, std::ios::binary);
  std::string bytes(kFirstLook, '\0');
  file.read(bytes.data(), static_cast<std::streamsize>(bytes.size()));
  bytes.resize(static_cast<std::size_t>(std::max<std::streamsize>(file.gcount(), 0)));
  return report::sha256_of(bytes);
}

// To the last byte: what is left out is not stacked. Files that cannot be read differ.
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

// Those of `alike` that have the same bytes as one before them.
void add_duplicates(const std::vector<capture::FoundCapture>& captures,
                    const std::vector<std::size_t>& alike, std::vector<Duplicate>& out) {
  std::vector<std::size_t> different;
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

std::vector<Duplicate> take_duplicates(std::vector<capture::FoundCapture>& captures) {
  std::map<std::uintmax_t, std::vector<std::size_t>> by_length;
  for (std::size_t i = 0; i < captures.size(); ++i) {
    if (captures[i].pictures == 0) by_length[captures[i].bytes].push_back(i);
  }
  std::vector<Duplicate> out;
  for (const auto& [bytes, alike] : by_length) {
    if (alike.size() < 2) continue;
    std::map<std::string, std::vector<std::size_t>> by_beginning;
    for (const std::size_t i : alike) by_beginning[first_bytes_of(captures[i].path)].push_back(i);
    for (const auto& [beginning, same] : by_beginning) add_duplicates(captures, same, out);
  }
  std::set<std::string> gone;
  for (const Duplicate& one : out) gone.insert(one.path);
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
