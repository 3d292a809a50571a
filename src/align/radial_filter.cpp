#include "align/radial_filter.h"

#include <algorithm>
#include <cmath>

#include "align/fft.h"

namespace lull::align {

namespace {

constexpr int kMirrorPx = 64;

int mirrored(int i, int length) {
  const int period = 2 * length;
  i = ((i % period) + period) % period;
  return i < length ? i : period - 1 - i;
}

}  // namespace

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

Plane filtered(PlaneView picture, const std::vector<FilterPoint>& curve) {
  const Size size = picture.size();
  const Size padded{fast_length_above(size.width_px + 2 * kMirrorPx),
                    fast_length_above(size.height_px + 2 * kMirrorPx)};
  Plane large(padded);
  for (int y = 0; y < padded.height_px; ++y) {
    const float* row = picture.row(mirrored(y - kMirrorPx, size.height_px));
    for (int x = 0; x < padded.width_px; ++x)
      large.row(y)[x] = row[mirrored(x - kMirrorPx, size.width_px)];
  }
  Fft fft(padded);
  Spectrum spectrum;
  fft.forward(large.view(), spectrum);
  for (int r = 0; r < spectrum.rows(); ++r) {
    for (int c = 0; c < spectrum.columns(); ++c) {
      spectrum.row(r)[c] *= static_cast<float>(
          gain_at(curve, std::hypot(spectrum.frequency_x(c), spectrum.frequency_y(r))));
    }
  }
  fft.inverse(spectrum, large.view());
  return Plane::copy_of(large.view().crop(
      {kMirrorPx, kMirrorPx, kMirrorPx + size.width_px, kMirrorPx + size.height_px}));
}

}  // namespace lull::align
