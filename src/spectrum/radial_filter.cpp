#include "spectrum/radial_filter.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "spectrum/fft.h"

namespace lull::spectrum {

namespace {

constexpr int kMirrorPx = 64;

int mirrored_index(int i, int length) {
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

Mirrored mirrored(PlaneView picture) {
  const Size size = picture.size();
  const Size padded{fast_length_above(size.width_px + 2 * kMirrorPx),
                    fast_length_above(size.height_px + 2 * kMirrorPx)};
  Mirrored out{Plane(padded),
               {kMirrorPx, kMirrorPx, kMirrorPx + size.width_px, kMirrorPx + size.height_px}};
  for (int y = 0; y < padded.height_px; ++y) {
    const float* row = picture.row(mirrored_index(y - kMirrorPx, size.height_px));
    for (int x = 0; x < padded.width_px; ++x)
      out.plane.row(y)[x] = row[mirrored_index(x - kMirrorPx, size.width_px)];
  }
  return out;
}

Plane filtered(PlaneView picture, const std::vector<FilterPoint>& curve) {
  Mirrored large = mirrored(picture);
  Fft fft(large.plane.size());
  Spectrum spectrum;
  fft.forward(std::as_const(large.plane).view(), spectrum);
  for (int r = 0; r < spectrum.rows(); ++r) {
    for (int c = 0; c < spectrum.columns(); ++c) {
      spectrum.row(r)[c] *= static_cast<float>(
          gain_at(curve, std::hypot(spectrum.frequency_x(c), spectrum.frequency_y(r))));
    }
  }
  fft.inverse(spectrum, large.plane.view());
  return Plane::copy_of(std::as_const(large.plane).view().crop(large.inside));
}

}  // namespace lull::spectrum
