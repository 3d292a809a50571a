#include "stack/relative_blur.h"

#include <algorithm>
#include <cmath>

#include "align/fft.h"
#include "core/assert.h"

namespace lull::stack {

namespace {

constexpr double kTaperShare = 0.5;

align::Spectrum tapered_spectrum(PlaneView plane, align::Fft& fft) {
  return align::windowed_spectrum(plane.crop({0, 0, fft.size().width_px, fft.size().height_px}),
                                  align::tukey_window(fft.size().width_px, kTaperShare),
                                  align::tukey_window(fft.size().height_px, kTaperShare), fft);
}

}  // namespace

std::vector<align::FilterPoint> relative_blur(PlaneView from, PlaneView to) {
  LULL_ASSERT(from.size() == to.size());
  align::Fft fft(
      {align::fast_length_below(from.width_px), align::fast_length_below(from.height_px)});
  const align::Spectrum a = tapered_spectrum(from, fft);
  const align::Spectrum b = tapered_spectrum(to, fft);
  const int count = std::clamp(std::min(from.width_px, from.height_px) / 8, 8, 50);
  std::vector<double> cross(static_cast<std::size_t>(count));
  std::vector<double> power(cross.size());
  for (int r = 0; r < a.rows(); ++r) {
    for (int c = 0; c < a.columns(); ++c) {
      const double frequency = std::hypot(a.frequency_y(r), a.frequency_x(c));
      const auto ring = static_cast<std::size_t>(frequency * 2 * count);
      if (ring >= cross.size()) continue;
      const std::complex<float> p = a.row(r)[c];
      const std::complex<float> q = b.row(r)[c];
      const double m = a.multiplicity(c);
      cross[ring] += m * static_cast<double>(p.real() * q.real() + p.imag() * q.imag());
      power[ring] += m * static_cast<double>(std::norm(p));
    }
  }
  std::vector<align::FilterPoint> points = {{0, 1}};
  double most = 1;
  for (int i = 0; i < count; ++i) {
    const auto ring = static_cast<std::size_t>(i);
    most = power[ring] > 0 ? std::clamp(cross[ring] / power[ring], 0.0, most) : 0;
    points.push_back({(i + 0.5) / (2.0 * count), most});
  }
  return points;
}

}  // namespace lull::stack
