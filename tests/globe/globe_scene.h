#pragma once

#include <doctest/doctest.h>

#include <cmath>
#include <functional>
#include <numbers>
#include <random>

#include "core/plane.h"
#include "globe/globe_view.h"
#include "globe/rings.h"

namespace lull::globe {

/// Brightness of the surface at a point of it.
using Surface = std::function<double(const sky::Vector&)>;

/// Belts along the equator, and spots on them.
inline double spotted(const sky::Vector& point) {
  const double latitude = point.latitude_rad();
  const double longitude = point.longitude_rad();
  return 0.8 + 0.12 * std::cos(9 * latitude) +
         0.08 * std::sin(13 * longitude + 2) * std::cos(6 * latitude) +
         0.05 * std::sin(29 * longitude) * std::cos(17 * latitude + 1);
}

inline double plain(const sky::Vector& /*point*/) { return 0.8; }

/// Under a Gaussian.
inline Plane blurred_as_air_does(const Plane& sharp, double blur_px) {
  const Size size = sharp.size();
  Plane plane = Plane::copy_of(sharp.view());
  const int reach = static_cast<int>(std::ceil(4 * blur_px));
  for (int pass = 0; pass < 2; ++pass) {  // along rows, then along columns
    Plane out(size);
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) {
        double sum = 0;
        double taps = 0;
        for (int i = -reach; i <= reach; ++i) {
          const int u = pass == 0 ? x + i : x;
          const int v = pass == 0 ? y : y + i;
          if (u < 0 || v < 0 || u >= size.width_px || v >= size.height_px) continue;
          const double tap = std::exp(-0.5 * i * i / (blur_px * blur_px));
          sum += tap * static_cast<double>(plane.row(v)[u]);
          taps += tap;
        }
        out.row(y)[x] = static_cast<float>(sum / taps);
      }
    }
    plane = std::move(out);
  }
  return plane;
}

inline constexpr double kRingLight = 0.7;

/// A picture of a globe, with rings of one brightness if it has any: means over 4 x 4 places in
/// each pixel, then a Gaussian blur.
inline Plane drawn(const GlobeView& view, Size size, double darkening, const Surface& surface,
                   double blur_px) {
  constexpr int kFine = 4;
  Plane plane(size);
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      double sum = 0;
      for (int i = 0; i < kFine * kFine; ++i) {
        const double u = x + (i % kFine + 0.5) / kFine - 0.5;
        const double v = y + (i / kFine + 0.5) / kFine - 0.5;
        const auto ring = ring_at(view, u, v);
        const auto seen = view.seen_at(u, v);
        if (ring) {
          sum += ring->sun_passes > 1 ? kRingLight : 0;
        } else if (seen && !is_in_ring_shadow(view.shape(), seen->point)) {
          sum += minnaert(seen->cos_sun, seen->cos_observer, darkening) * surface(seen->point);
        }
      }
      plane.row(y)[x] = static_cast<float>(sum / (kFine * kFine));
    }
  }
  return blurred_as_air_does(plane, blur_px);
}

inline void add_noise(Plane& plane, double sigma, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> normal(0, sigma);
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) plane.row(y)[x] += static_cast<float>(normal(random));
  }
}

/// Jupiter seen from 3 degrees north of its equator, the Sun 8 degrees aside.
inline GlobeShape jupiter_shape(double east_longitude_deg = 0, double phase_deg = 8) {
  return {66854.0 / 71492, sky::direction(east_longitude_deg * sky::kDegree, 3 * sky::kDegree),
          sky::direction((east_longitude_deg + phase_deg) * sky::kDegree, 2.5 * sky::kDegree)};
}

}  // namespace lull::globe
