#include "capture/rotation.h"

#include <array>
#include <cmath>
#include <cstring>
#include <utility>

namespace lull::capture {

namespace {

/// Pixel of the picture before that is at (x, y) after a clockwise turn.
[[nodiscard]] std::pair<int, int> source_of(int x, int y, Size before, int quarters) {
  switch (quarters & 3) {
    case 1:
      return {y, before.height_px - 1 - x};
    case 2:
      return {before.width_px - 1 - x, before.height_px - 1 - y};
    case 3:
      return {before.width_px - 1 - y, x};
    default:
      return {x, y};
  }
}

template <class T>
void turn_samples(SampleView source, int quarters, std::byte* out) {
  const Size after = turned_size(source.size(), quarters);
  T* to = reinterpret_cast<T*>(out);
  for (int y = 0; y < after.height_px; ++y) {
    for (int x = 0; x < after.width_px; ++x) {
      const auto [from_x, from_y] = source_of(x, y, source.size(), quarters);
      *to++ = source.row<T>(from_y)[from_x];
    }
  }
}

}  // namespace

std::optional<int> quarters_of_display_matrix(const std::uint8_t* matrix) {
  std::array<std::int32_t, 9> m{};
  std::memcpy(m.data(), matrix, sizeof m);
  const double determinant = static_cast<double>(m[0]) * m[4] - static_cast<double>(m[1]) * m[3];
  if (determinant <= 0) return std::nullopt;
  const double counterclockwise_deg = av_display_rotation_get(m.data());
  if (!std::isfinite(counterclockwise_deg)) return std::nullopt;
  const double quarters = -counterclockwise_deg / 90.0;
  const double whole = std::round(quarters);
  if (std::abs(quarters - whole) > 1e-3) return std::nullopt;
  return (static_cast<int>(whole) + 4) & 3;
}

Size turned_size(Size size, int quarters) {
  if ((quarters & 1) != 0) return {size.height_px, size.width_px};
  return size;
}

Cfa turned_cfa(Cfa cfa, Size size, int quarters) {
  if (cfa == Cfa::none) return cfa;
  const auto colour_at = [&](int x, int y) {
    const auto [from_x, from_y] = source_of(x, y, size, quarters);
    return cfa_colour_at(cfa, from_x, from_y);
  };
  for (const Cfa candidate : {Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg}) {
    if (cfa_colour_at(candidate, 0, 0) == colour_at(0, 0) &&
        cfa_colour_at(candidate, 1, 0) == colour_at(1, 0) &&
        cfa_colour_at(candidate, 0, 1) == colour_at(0, 1)) {
      return candidate;
    }
  }
  return cfa;
}

void turn(SampleView source, int quarters, std::byte* out) {
  if (source.type == SampleType::u8) {
    turn_samples<std::uint8_t>(source, quarters, out);
  } else {
    turn_samples<std::uint16_t>(source, quarters, out);
  }
}

}  // namespace lull::capture
