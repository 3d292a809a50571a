#include "spectrum/ring_sums.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <numbers>
#include <utility>

#include "core/assert.h"
#include "core/parallel.h"
#include "spectrum/fft.h"

namespace lull::spectrum {

namespace {

constexpr double kTaperShare = 0.5;
constexpr int kFewestRings = 8;

PlaneView centre_of(PlaneView plane, Size size) {
  const int x = (plane.width_px - size.width_px) / 2;
  const int y = (plane.height_px - size.height_px) / 2;
  return plane.crop({x, y, x + size.width_px, y + size.height_px});
}

Spectrum tapered_spectrum(PlaneView plane) {
  Fft fft(plane.size());
  return windowed_spectrum(plane, tukey_window(plane.width_px, kTaperShare),
                           tukey_window(plane.height_px, kTaperShare), fft);
}

// Of a real picture, opposite frequencies are the same.
std::size_t sector_of(double x, double y, int sectors) {
  if (sectors == 1) return 0;
  const double turn = std::atan2(y, x) / std::numbers::pi + 0.5 / sectors;
  return static_cast<std::size_t>((turn - std::floor(turn)) * sectors) %
         static_cast<std::size_t>(sectors);
}

}  // namespace

std::vector<RingSums> ring_sums(PlaneView first, PlaneView second, int px_per_ring, int most) {
  return std::move(sector_sums(first, second, 1, px_per_ring, most).front());
}

std::vector<std::vector<RingSums>> sector_sums(PlaneView first, PlaneView second, int sectors,
                                               int px_per_ring, int most) {
  LULL_ASSERT(first.size() == second.size());
  const Size size{fast_length_below(first.width_px), fast_length_below(first.height_px)};
  std::array<Spectrum, 2> spectra{Spectrum(size), Spectrum(size)};
  parallel_for(2, [&](std::int64_t i) {
    spectra[static_cast<std::size_t>(i)] =
        tapered_spectrum(centre_of(i == 0 ? first : second, size));
  });
  const auto& [a, b] = spectra;
  const int count =
      std::clamp(std::min(size.width_px, size.height_px) / px_per_ring, kFewestRings, most);
  std::vector<RingSums> rings(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i)
    rings[static_cast<std::size_t>(i)].frequency = (i + 0.5) / (2.0 * count);
  std::vector<std::vector<RingSums>> out(static_cast<std::size_t>(sectors), rings);
  for (int r = 0; r < a.rows(); ++r) {
    const double y = a.frequency_y(r);
    for (int c = 0; c < a.columns(); ++c) {
      const double x = a.frequency_x(c);
      const double f = std::sqrt(x * x + y * y);
      const auto ring = static_cast<std::size_t>(f * 2 * count);
      if (ring >= rings.size()) continue;
      const double m = a.multiplicity(c);
      const std::complex<float> p = a.row(r)[c];
      const std::complex<float> q = b.row(r)[c];
      RingSums& sums = out[sector_of(x, y, sectors)][ring];
      sums.cross += m * static_cast<double>(p.real() * q.real() + p.imag() * q.imag());
      sums.first += m * static_cast<double>(std::norm(p));
      sums.second += m * static_cast<double>(std::norm(q));
      sums.bins += m;
    }
  }
  return out;
}

}  // namespace lull::spectrum
