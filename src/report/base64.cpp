#include "report/base64.h"

#include <algorithm>
#include <cstdint>

namespace lull::report {

std::string base64(std::span<const std::byte> bytes) {
  static constexpr char kDigits[] =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t count = std::min<std::size_t>(3, bytes.size() - i);
    std::uint32_t group = 0;
    for (std::size_t k = 0; k < 3; ++k) {
      const auto byte = k < count ? std::to_integer<std::uint32_t>(bytes[i + k]) : 0U;
      group = (group << 8U) | byte;
    }
    for (std::size_t k = 0; k < 4; ++k)
      out += k <= count ? kDigits[(group >> (18 - 6 * k)) & 63U] : '=';
  }
  return out;
}

}  // namespace lull::report
