#include "run/part_options.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <limits>
#include <string>
#include <vector>

#include "quality/cell_grid.h"
#include "run/option_kinds.h"

namespace lull::run {

namespace {

using calibrate::FrameRange;
using calibrate::FrameRanges;
using calibrate::Part;

constexpr int kSmallestCropPx = 2 * quality::kCellPx;  // what ranking needs
constexpr int kFarthestPx = 1 << 20;

std::vector<std::string> split(const std::string& text, char separator) {
  std::vector<std::string> out;
  std::size_t at = 0;
  while (true) {
    const std::size_t end = text.find(separator, at);
    out.push_back(text.substr(at, end - at));
    if (end == std::string::npos) return out;
    at = end + 1;
  }
}

std::optional<std::int64_t> index_in(const std::string& text) {
  std::int64_t value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end || value < 0) return std::nullopt;
  return value;
}

std::optional<FrameRange> range_in(const std::string& text) {
  const std::size_t dash = text.find('-');
  const auto first = index_in(text.substr(0, dash));
  const auto last = dash == std::string::npos ? first : index_in(text.substr(dash + 1));
  if (!first || !last) return std::nullopt;
  return FrameRange{*first, *last};
}

FrameRanges parse_ranges(const std::string& option, const std::string& text,
                         const std::string& none) {
  FrameRanges ranges;
  if (text == none) return ranges;
  for (const std::string& word : split(text, ',')) {
    const auto range = range_in(word);
    if (!range) {
      throw invalid_value(option, text,
                          fmt::format("frame numbers from 0 and ranges of them, such as "
                                      "12,40-60, or {}",
                                      none));
    }
    if (range->last < range->first) {
      throw UsageError(fmt::format("{} {}: the range {} is out of order; give {}-{}", option, text,
                                   word, range->last, range->first));
    }
    if (!ranges.empty() && range->first <= ranges.back().last) {
      throw UsageError(
          fmt::format("{} {}: {} is out of order; give frames from the first to the last, each "
                      "once",
                      option, text, word));
    }
    ranges.push_back(*range);
  }
  return ranges;
}

std::string print_ranges(const FrameRanges& ranges, const std::string& none) {
  return ranges.empty() ? none : calibrate::ranges_text(ranges);
}

std::optional<Box> parse_crop(const std::string& text) {
  if (text == "none") return std::nullopt;
  std::vector<int> numbers;
  const std::vector<std::string> words = split(text, ',');
  for (const std::string& word : words) {
    const auto number = index_in(word);
    if (number && *number <= kFarthestPx) numbers.push_back(static_cast<int>(*number));
  }
  if (words.size() != 4 || numbers.size() != 4 || numbers[2] < kSmallestCropPx ||
      numbers[3] < kSmallestCropPx) {
    throw invalid_value("--crop", text,
                        fmt::format("X,Y,W,H in px, the first pixel from 0 and sides of at least "
                                    "{} px, such as 100,80,640,480, or none",
                                    kSmallestCropPx));
  }
  return Box{numbers[0], numbers[1], numbers[0] + numbers[2], numbers[1] + numbers[3]};
}

std::string print_crop(const std::optional<Box>& crop) {
  return crop ? calibrate::crop_text(*crop) : "none";
}

}  // namespace

OptionTable<Part> part_options() {
  OptionTable<Part> table;
  table.push_back(
      parsed_option<Part>({.name = "--crop",
                           .value = "none|X,Y,W,H",
                           .group = OptionGroup::reading,
                           .help = "Use only this area of the frames: its first pixel and its size",
                           .in_recipe = InRecipe::fixed,
                           .earlier = "none",
                           .card = "CROP",
                           .card_comment = "option: area of the frames that is used"},
                          &Part::crop, parse_crop, print_crop));
  table.push_back(parsed_option<Part>(
      {.name = "--frames",
       .value = "all|100-900",
       .group = OptionGroup::reading,
       .help = "Use only these frames, counted from 0",
       .in_recipe = InRecipe::fixed,
       .earlier = "all",
       .card = "FRAMES",
       .card_comment = "option: frames that are used"},
      &Part::frames, [](const std::string& text) { return parse_ranges("--frames", text, "all"); },
      [](const FrameRanges& ranges) { return print_ranges(ranges, "all"); }));
  table.push_back(parsed_option<Part>(
      {.name = "--exclude",
       .value = "none|12,40-60",
       .group = OptionGroup::reading,
       .help = "Leave these frames out",
       .in_recipe = InRecipe::fixed,
       .earlier = "none",
       .card = "EXCLUDE",
       .card_comment = "option: frames that are left out"},
      &Part::excluded,
      [](const std::string& text) { return parse_ranges("--exclude", text, "none"); },
      [](const FrameRanges& ranges) { return print_ranges(ranges, "none"); }));
  return table;
}

}  // namespace lull::run
