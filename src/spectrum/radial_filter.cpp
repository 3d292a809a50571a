#include "spectrum/radial_filter.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/parallel.h"
#include "spectrum/continuation.h"
#include "spectrum/fft.h"

namespace lull::spectrum {

double gain_at(const std::vector<FilterPoint>& curve, double frequency) {
  const auto above = std::lower_bound(
      curve.begin(), curve.end(), frequency,
      [](const FilterPoint& point, double value) { return point.frequency < value; });
  if (above == curve.begin()) return curve.front().gain;
  if (above == curve.end()) return curve.back().gain;
  const FilterPoint& low = *(above - 1);
  const double share = (frequency - low.frequency) / (above->frequency - low.frequency);
  return low.gain + share * (above->gain - low.gain);
}

void filter(Plane& canvas, const std::vector<FilterPoint>& curve) {
  Fft fft(canvas.size());
  Spectrum spectrum;
  fft.forward(std::as_const(canvas).view(), spectrum);
  parallel_for(spectrum.rows(), [&](std::int64_t row) {
    const int r = static_cast<int>(row);
    for (int c = 0; c < spectrum.columns(); ++c) {
      spectrum.row(r)[c] *= static_cast<float>(
          gain_at(curve, std::hypot(spectrum.frequency_x(c), spectrum.frequency_y(r))));
    }
  });
  fft.inverse(spectrum, canvas.view());
}

Plane filtered(PlaneView picture, const std::vector<FilterPoint>& curve) {
  Extended large = mirrored(picture);
  filter(large.plane, curve);
  return Plane::copy_of(std::as_const(large.plane).view().crop(large.inside));
}

}  // namespace lull::spectrum
