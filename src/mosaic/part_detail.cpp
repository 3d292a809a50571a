#include "mosaic/part_detail.h"

#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "spectrum/continuation.h"

namespace lull::mosaic {

namespace {

constexpr int kBeyondPx = 16;

Size canvas_of(Size part) {
  return {part.width_px + 2 * kBeyondPx, part.height_px + 2 * kBeyondPx};
}

// A Gaussian's gain at a frequency of one axis; both axes are multiplied.
float gain_of(double sigma_px, double frequency) {
  const double a = std::numbers::pi * sigma_px * frequency;
  return static_cast<float>(std::exp(-2 * a * a));
}

}  // namespace

PartDetail::PartDetail(Size part)
    : part_(part),
      inside_{kBeyondPx, kBeyondPx, kBeyondPx + part.width_px, kBeyondPx + part.height_px},
      fft_(canvas_of(part)),
      canvas_(canvas_of(part)),
      shown_(canvas_of(part)),
      filtered_(canvas_of(part)) {}

void PartDetail::show(PlaneView light) {
  canvas_ = spectrum::mirrored(light, canvas_.size(), inside_);
  fft_.forward(std::as_const(canvas_).view(), shown_);
}

Plane PartDetail::between(double fine_px, double coarse_px) {
  std::vector<float> fine;
  std::vector<float> coarse;
  for (int c = 0; c < shown_.columns(); ++c) {
    fine.push_back(gain_of(fine_px, shown_.frequency_x(c)));
    coarse.push_back(gain_of(coarse_px, shown_.frequency_x(c)));
  }
  for (int r = 0; r < shown_.rows(); ++r) {
    const float fine_down = gain_of(fine_px, shown_.frequency_y(r));
    const float coarse_down = gain_of(coarse_px, shown_.frequency_y(r));
    for (int c = 0; c < shown_.columns(); ++c) {
      const auto column = static_cast<std::size_t>(c);
      filtered_.row(r)[c] =
          shown_.row(r)[c] * (fine_down * fine[column] - coarse_down * coarse[column]);
    }
  }
  fft_.inverse(filtered_, canvas_.view());
  return Plane::copy_of(std::as_const(canvas_).view().crop(inside_));
}

}  // namespace lull::mosaic
