#include "desk/sequence_names.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdlib>
#include <fstream>
#include <string_view>

namespace lull::desk {

namespace {

constexpr std::size_t kMostDigits = 18;  // of a number that 64 bits hold

bool is_digit(char c) { return std::isdigit(static_cast<unsigned char>(c)) != 0; }

std::string percents_doubled(const std::string& text) {
  std::string out;
  for (const char c : text) out.append(c == '%' ? 2 : 1, c);
  return out;
}

}  // namespace

std::optional<NumberedName> NumberedName::parse(const std::string& name) {
  const std::size_t dot = name.rfind('.');
  std::size_t end = dot == std::string::npos ? name.size() : dot;
  while (end > 0 && !is_digit(name[end - 1])) --end;
  std::size_t begin = end;
  while (begin > 0 && is_digit(name[begin - 1])) --begin;
  if (begin == end || end - begin > kMostDigits) return std::nullopt;
  return NumberedName{name.substr(0, begin), name.substr(begin, end - begin), name.substr(end)};
}

void SequenceNumbers::add(const std::string& digits) {
  const auto width = static_cast<int>(digits.size());
  narrowest_ = widest_ == 0 ? width : std::min(narrowest_, width);
  widest_ = std::max(widest_, width);
  is_filled_ = is_filled_ || (width > 1 && digits.front() == '0');
}

// Numbers of one width may or may not be filled up with zeros: both read the same.
std::string SequenceNumbers::pattern(const std::string& before, const std::string& after) const {
  const bool filled = is_filled_ || narrowest_ == widest_;
  const std::string number = filled ? fmt::format("%0{}d", narrowest_) : "%d";
  return percents_doubled(before) + number + percents_doubled(after);
}

bool is_fits_cube(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  constexpr std::size_t kCard = 80;
  std::array<char, kCard> card{};
  long axes = 0;
  long depth = 0;
  // SIMPLE, BITPIX, NAXIS and NAXISn come first, in this order.
  for (int i = 0; i < 7 && file.read(card.data(), kCard); ++i) {
    const std::string_view text(card.data(), kCard);
    if (i == 0 && !text.starts_with("SIMPLE  =")) return false;
    const long value = std::strtol(std::string(text.substr(10)).c_str(), nullptr, 10);
    if (text.starts_with("NAXIS   =")) axes = value;
    if (text.starts_with("NAXIS3  =")) depth = value;
    if (text.starts_with("NAXIS4  =")) return value > 1;
  }
  return axes == 3 && depth > 1 && depth != 3;
}

}  // namespace lull::desk
