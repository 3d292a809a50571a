#include "globe/rings.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <opencv2/imgproc.hpp>

#include "core/parallel.h"

namespace lull::globe {

namespace {

using sky::Vector;

constexpr double kEdgeOn = 1e-6;  // sine of the tilt
constexpr int kFine = 3;          // places a side of a pixel
// Of the blur: nearer than that a place is not used, and beyond it is used in full.
constexpr double kNothing = 1;
constexpr double kAll = 3;
// Far enough from globe and rings for all places of a pixel: of the rings' radius, and pixels.
constexpr double kFarFromRings = 0.2;
constexpr double kFarFromGlobe_px = 1;

bool holds(const GlobeShape& shape, double radius) {
  return radius >= shape.ring_inner && radius <= shape.ring_outer;
}

// std::hypot guards against overflow at several times the cost.
double length(double a, double b) { return std::sqrt(a * a + b * b); }

// Whether rings or their shadow change what is seen at any place of a pixel.
bool is_changed(const GlobeView& view, int x, int y) {
  for (int i = 0; i < kFine * kFine; ++i) {
    const double u = x + (i % kFine + 0.5) / kFine - 0.5;
    const double v = y + (i / kFine + 0.5) / kFine - 0.5;
    if (is_changed_by_rings(view, u, v)) return true;
  }
  return false;
}

}  // namespace

std::optional<RingPlace> ring_at(const GlobeView& view, double x_px, double y_px) {
  const GlobeShape& shape = view.shape();
  const Vector& to_observer = shape.to_observer;
  if (!shape.is_ringed() || std::abs(to_observer.at[2]) < kEdgeOn) return std::nullopt;
  const Vector from = view.in_space(view.in_plane(x_px, y_px));
  const double w = -from.at[2] / to_observer.at[2];
  const Vector place = from + to_observer * w;
  const double radius = length(place.at[0], place.at[1]);
  if (!holds(shape, radius)) return std::nullopt;
  if (const auto seen = view.seen_at(x_px, y_px); seen && (seen->point - from).dot(to_observer) > w)
    return std::nullopt;
  // The way to the Sun, with lengths along the axis in units of the polar radius: the globe is a
  // sphere then.
  const Vector sun =
      Vector{{shape.to_sun.at[0], shape.to_sun.at[1], shape.to_sun.at[2] / shape.axis_ratio}}
          .unit();
  const double towards = place.dot(sun);
  return RingPlace{radius, towards < 0 ? std::sqrt(radius * radius - towards * towards) : radius};
}

std::optional<LitPlace> lit_place(const GlobeView& view, double x_px, double y_px,
                                  std::span<const double> zones, double darkening) {
  if (const auto ring = ring_at(view, x_px, y_px)) {
    if (ring->sun_passes <= 1) return std::nullopt;
    std::size_t zone = 0;
    while (zone + 1 < zones.size() && ring->radius >= zones[zone + 1]) ++zone;
    return LitPlace{zone};
  }
  const auto seen = view.seen_at(x_px, y_px);
  if (!seen || is_in_ring_shadow(view.shape(), seen->point)) return std::nullopt;
  return LitPlace{zones.size(), minnaert(seen->cos_sun, seen->cos_observer, darkening)};
}

bool is_in_ring_shadow(const GlobeShape& shape, const Vector& point) {
  // The Sun stands on the other side of the plane.
  if (!shape.is_ringed() || point.at[2] * shape.to_sun.at[2] >= 0) return false;
  const Vector place = point + shape.to_sun * (-point.at[2] / shape.to_sun.at[2]);
  return holds(shape, length(place.at[0], place.at[1]));
}

bool is_changed_by_rings(const GlobeView& view, double x_px, double y_px) {
  if (ring_at(view, x_px, y_px)) return true;
  const auto seen = view.seen_at(x_px, y_px);
  return seen && is_in_ring_shadow(view.shape(), seen->point);
}

Plane distance_from_rings(const GlobeView& view, const Box& box) {
  if (!view.shape().is_ringed()) return {};
  GlobePlace larger = view.place();
  larger.radius_px += kFarFromGlobe_px;
  const GlobeView around(view.shape(), larger);
  cv::Mat_<std::uint8_t> unchanged(box.height_px(), box.width_px());
  parallel_for(box.height_px(), [&](std::int64_t line) {
    const int row = static_cast<int>(line);
    for (int column = 0; column < box.width_px(); ++column) {
      const int x = box.x0 + column;
      const int y = box.y0 + row;
      const bool far = !around.holds(x, y) && is_beside_rings(around, x, y, kFarFromRings);
      unchanged(row, column) = far || !is_changed(view, x, y) ? 1 : 0;
    }
  });
  cv::Mat_<float> distance;
  cv::distanceTransform(unchanged, distance, cv::DIST_L2, cv::DIST_MASK_PRECISE);
  Plane out(box.width_px(), box.height_px());
  for (int y = 0; y < out.height(); ++y)
    std::copy(distance[y], distance[y] + out.width(), out.row(y));
  return out;
}

Plane clear_of_rings(const GlobeView& view, Size size, double blur_px) {
  Plane out = distance_from_rings(view, {0, 0, size.width_px, size.height_px});
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x)
      out.row(y)[x] = static_cast<float>(smooth_rise(static_cast<double>(out.row(y)[x]),
                                                     kNothing * blur_px + 0.5, kAll * blur_px + 1));
  }
  return out;
}

double clear_at(const Plane& clear, const GlobeView::Shown& at) {
  if (clear.empty()) return 1;
  const auto x = std::lround(at.x_px);
  const auto y = std::lround(at.y_px);
  if (x < 0 || y < 0 || x >= clear.width() || y >= clear.height()) return 0;
  return static_cast<double>(clear.row(static_cast<int>(y))[x]);
}

bool is_beside_rings(const GlobeView& view, double x_px, double y_px, double margin) {
  const GlobeShape& shape = view.shape();
  if (!shape.is_ringed()) return true;
  const GlobeView::InPlane at = view.in_plane(x_px, y_px);
  const double outer = shape.ring_outer * (1 + margin);
  const double opening = std::abs(shape.to_observer.at[2]);
  return length(at.across, at.up / std::max(opening, margin)) > outer;
}

}  // namespace lull::globe
