#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <type_traits>
#include <vector>

#include "core/plane.h"

namespace lull::calibrate {

/// Pixels that are not to be used: one byte a pixel, 0 = good.
class DefectMask {
 public:
  explicit DefectMask(Size size) : size_(size), marks_(static_cast<std::size_t>(size.area_px())) {}

  [[nodiscard]] Size size() const { return size_; }

  [[nodiscard]] bool at(int x, int y) const { return marks_[index(x, y)] != 0; }

  void mark(int x, int y) { marks_[index(x, y)] = 1; }

 private:
  [[nodiscard]] std::size_t index(int x, int y) const {
    LULL_ASSERT(x >= 0 && x < size_.width_px && y >= 0 && y < size_.height_px);
    return static_cast<std::size_t>(y) * static_cast<std::size_t>(size_.width_px) +
           static_cast<std::size_t>(x);
  }

  Size size_;
  std::vector<std::uint8_t> marks_;
};

/// Median and kMadToSigma x median absolute deviation of all samples: mean and sigma of a Gaussian,
/// not moved by outliers. The factor is 1 / Phi^-1(3/4), computed.
struct RobustLevel {
  double median = 0;
  double sigma = 0;
};

[[nodiscard]] RobustLevel robust_level(PlaneView plane);

/// Marks hot pixels of a dark: more than max(8 sigma, smallest_excess) above its median, and as
/// much above the median of the same-colour pixels around, so that the glow of an amplifier is
/// left to subtraction. Unit of the plane; the bounds are common practice, no source.
/// @param step  distance of same-colour neighbours: 1, or 2 on a mosaic.
/// @return how many were marked here.
std::int64_t mark_hot(PlaneView dark, int step, double smallest_excess, DefectMask& mask);

/// Marks cold pixels of a flat: under half of the median of the same-colour pixels around.
std::int64_t mark_cold(PlaneView flat_signal, int step, DefectMask& mask);

/// One pixel to repair, and where from: up to 4 good same-colour pixels, the nearest ones,
/// the first in row order among those that are equally near.
struct Repair {
  std::int32_t x = 0;
  std::int32_t y = 0;
  std::uint8_t sources = 0;  ///< 0: nothing good within reach

  struct Offset {
    std::int8_t x = 0;
    std::int8_t y = 0;
  };

  std::array<Offset, 4> offset{};
};

/// How to repair each marked pixel, in row order.
[[nodiscard]] std::vector<Repair> plan_repairs(const DefectMask& mask, int step);

/// Writes the median of its sources into each pixel; `without` where there are none.
/// @tparam T  std::uint8_t or std::uint16_t.
/// @param stride_elems  from one row of samples to the next.
template <class T>
void repair(std::span<const Repair> plan, std::type_identity_t<T> without, T* samples,
            std::ptrdiff_t stride_elems);

}  // namespace lull::calibrate
