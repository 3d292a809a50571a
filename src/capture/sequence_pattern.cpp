#include "capture/sequence_pattern.h"

#include <fmt/format.h>

#include <algorithm>

namespace lull::capture {

std::string SequencePattern::path_of(std::int64_t number) const {
  return folder + before + fmt::format("{:0{}}", number, digits) + after;
}

std::optional<std::string_view> SequencePattern::digits_in(std::string_view name) const {
  if (name.size() <= before.size() + after.size()) return std::nullopt;
  if (!name.starts_with(before) || !name.ends_with(after)) return std::nullopt;
  const std::string_view between =
      name.substr(before.size(), name.size() - before.size() - after.size());
  const bool numbered =
      std::all_of(between.begin(), between.end(), [](char c) { return c >= '0' && c <= '9'; });
  if (!numbered) return std::nullopt;
  return between;
}

std::optional<SequencePattern> parse_pattern(const std::string& path) {
  SequencePattern pattern;
  const std::size_t slash = path.rfind('/');
  const std::size_t begin = slash == std::string::npos ? 0 : slash + 1;
  pattern.folder = path.substr(0, begin);
  std::string* part = &pattern.before;
  for (std::size_t i = begin; i < path.size(); ++i) {
    if (path[i] != '%') {
      part->push_back(path[i]);
      continue;
    }
    ++i;
    if (i < path.size() && path[i] == '%') {
      part->push_back('%');
      continue;
    }
    int digits = 0;
    for (; i < path.size() && path[i] >= '0' && path[i] <= '9' && digits < 100; ++i) {
      digits = digits * 10 + (path[i] - '0');
    }
    if (i >= path.size() || path[i] != 'd' || digits > 18 || part == &pattern.after) {
      return std::nullopt;
    }
    pattern.digits = digits;
    part = &pattern.after;
  }
  if (part == &pattern.before) return std::nullopt;
  return pattern;
}

}  // namespace lull::capture
