#include "capture/fits_axes.h"

#include <algorithm>
#include <array>
#include <cstdlib>
#include <fstream>
#include <string>
#include <string_view>

namespace lull::capture {

namespace {

constexpr std::size_t kCard = 80;
constexpr std::int64_t kMostAxes = 4;

// SIMPLE, BITPIX, NAXIS and NAXISn come first, in this order.
class Header {
 public:
  explicit Header(const std::filesystem::path& path) : file_(path, std::ios::binary) {}

  // The value of the next card, if it has that key.
  [[nodiscard]] std::int64_t number(const std::string& key) {
    std::array<char, kCard> card{};
    if (!file_.read(card.data(), kCard)) return -1;
    const std::string text(card.data(), kCard);
    std::string name = key;
    name.resize(8, ' ');
    if (!text.starts_with(name + "=")) return -1;
    return std::strtoll(text.c_str() + name.size() + 1, nullptr, 10);
  }

 private:
  std::ifstream file_;
};

}  // namespace

std::vector<std::int64_t> fits_axes(const std::filesystem::path& path) {
  Header header(path);
  if (header.number("SIMPLE") < 0 || header.number("BITPIX") == -1) return {};
  const std::int64_t count = std::min(header.number("NAXIS"), kMostAxes);
  std::vector<std::int64_t> axes;
  for (std::int64_t i = 1; i <= count; ++i) {
    axes.push_back(header.number("NAXIS" + std::to_string(i)));
    if (axes.back() < 0) return {};
  }
  return axes;
}

bool is_fits_cube(const std::filesystem::path& path) {
  const auto axes = fits_axes(path);
  if (axes.size() == 4) return axes[3] > 1;
  return axes.size() == 3 && axes[2] > 1 && axes[2] != 3;
}

}  // namespace lull::capture
