#include "finish/own_noise.h"

#include <algorithm>
#include <cmath>

#include "core/cancel.h"
#include "spectrum/fft.h"

namespace lull::finish {

namespace {

constexpr double kTaperShare = 0.5;
constexpr double kIndependentShare = 0.5;  // of the bins under this taper, as in stack/frc
constexpr double kNoiseOnly = 0.375;       // cycles/px

double sum_of_squares(const std::vector<float>& values) {
  double sum = 0;
  for (const float v : values) sum += static_cast<double>(v) * static_cast<double>(v);
  return sum;
}

struct Ring {
  double power = 0;
  double bins = 0;
};

std::vector<Ring> powers_of(const spectrum::Spectrum& spectrum, int count) {
  std::vector<Ring> rings(static_cast<std::size_t>(count));
  for (int r = 0; r < spectrum.rows(); ++r) {
    stop_if_cancelled();
    for (int c = 0; c < spectrum.columns(); ++c) {
      const double f = std::hypot(spectrum.frequency_y(r), spectrum.frequency_x(c));
      const auto ring = static_cast<std::size_t>(f * 2 * count);
      if (ring >= rings.size()) continue;
      rings[ring].power +=
          spectrum.multiplicity(c) * static_cast<double>(std::norm(spectrum.row(r)[c]));
      rings[ring].bins += spectrum.multiplicity(c);
    }
  }
  for (Ring& ring : rings) ring.power /= std::max(ring.bins, 1.0);
  return rings;
}

}  // namespace

OwnNoise noise_of_picture(PlaneView picture) {
  const Size size{spectrum::fast_length_below(picture.width_px),
                  spectrum::fast_length_below(picture.height_px)};
  const int x = (picture.width_px - size.width_px) / 2;
  const int y = (picture.height_px - size.height_px) / 2;
  spectrum::Fft fft(size);
  const std::vector<float> across = spectrum::tukey_window(size.width_px, kTaperShare);
  const std::vector<float> down = spectrum::tukey_window(size.height_px, kTaperShare);
  const int count = std::clamp(std::min(size.width_px, size.height_px) / 4, 8, 100);
  const std::vector<Ring> rings =
      powers_of(spectrum::windowed_spectrum(
                    picture.crop({x, y, x + size.width_px, y + size.height_px}), across, down, fft),
                count);
  double noise = rings.back().power;
  for (int i = 0; i < count; ++i) {
    const Ring& ring = rings[static_cast<std::size_t>(i)];
    if ((i + 0.5) / (2.0 * count) > kNoiseOnly) noise = std::min(noise, ring.power);
  }
  OwnNoise out;
  out.sigma = std::sqrt(noise / (sum_of_squares(across) * sum_of_squares(down)));
  for (int i = 0; i < count; ++i) {
    const Ring& ring = rings[static_cast<std::size_t>(i)];
    const double certain = ring.power > 0 ? std::max(1 - noise / ring.power, 0.0) : 0;
    out.frc.rings.push_back(
        {(i + 0.5) / (2.0 * count), certain / (2 - certain), kIndependentShare * ring.bins / 2});
  }
  return out;
}

}  // namespace lull::finish
