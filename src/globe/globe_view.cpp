#include "globe/globe_view.h"

#include <algorithm>
#include <cmath>

#include "sky/rings.h"

namespace lull::globe {

namespace {

using sky::Vector;

constexpr double kLeastCosine = 0.03;  // the law has no end at the limb where k is under 1

Vector outward(sky::Body body, const sky::SurfacePoint& point) {
  const bool east = sky::longitude_sense(body) == sky::LongitudeSense::east;
  const double longitude = (east ? 1 : -1) * point.longitude_deg * sky::kDegree;
  return sky::direction(longitude, point.centric_latitude_deg * sky::kDegree);
}

}  // namespace

GlobeShape shape_of(sky::Body body, const sky::Aspect& aspect) {
  GlobeShape shape{sky::globe_of(body).axis_ratio(), outward(body, aspect.below_observer),
                   outward(body, aspect.below_sun)};
  if (body == sky::Body::saturn) {
    shape.ring_inner = sky::kRingsBegin_km / sky::globe_of(body).equatorial_km;
    shape.ring_outer = sky::kRingsEnd_km / sky::globe_of(body).equatorial_km;
  }
  return shape;
}

GlobePlace GlobePlace::in_pixels_of(double side_px) const {
  const double middle = 0.5 * (side_px - 1);  // of the first of them
  GlobePlace out = *this;
  out.x_px = (x_px - middle) / side_px;
  out.y_px = (y_px - middle) / side_px;
  out.radius_px = radius_px / side_px;
  return out;
}

GlobeView::GlobeView(const GlobeShape& shape, const GlobePlace& place)
    : shape_(shape), place_(place) {
  const Vector pole{{0, 0, 1}};
  across_ = pole.cross(shape.to_observer).unit();
  up_ = shape.to_observer.cross(across_);
  const double s = std::sin(place.pole_clockwise_rad);
  const double c = std::cos(place.pole_clockwise_rad);
  const double side = place.mirrored ? -1 : 1;
  up_x_ = s;
  up_y_ = -c;
  across_x_ = side * c;
  across_y_ = side * s;
}

Vector GlobeView::normal_at(const Vector& point) const {
  const double q = shape_.axis_ratio;
  return Vector{{point.at[0], point.at[1], point.at[2] / (q * q)}}.unit();
}

GlobeView::InPlane GlobeView::in_plane(double x_px, double y_px) const {
  const double dx = (x_px - place_.x_px) / place_.radius_px;
  const double dy = (y_px - place_.y_px) / place_.radius_px;
  return {dx * across_x_ + dy * across_y_, dx * up_x_ + dy * up_y_};
}

GlobeView::Shown GlobeView::shown_in_plane(const InPlane& at) const {
  const double a = at.across * place_.radius_px;
  const double b = at.up * place_.radius_px;
  return {place_.x_px + a * across_x_ + b * up_x_, place_.y_px + a * across_y_ + b * up_y_};
}

GlobeView::Crossing GlobeView::crossing(double x_px, double y_px) const {
  const InPlane at = in_plane(x_px, y_px);
  const Vector in_plane = in_space(at);
  // Along the axis in units of the polar radius, the globe is a sphere.
  const auto as_sphere = [q = shape_.axis_ratio](const Vector& v) {
    return Vector{{v.at[0], v.at[1], v.at[2] / q}};
  };
  const Vector from = as_sphere(in_plane);
  const Vector along = as_sphere(shape_.to_observer);
  const double a = along.dot(along);
  const double b = from.dot(along);
  return {in_plane, a, b, b * b - a * (from.dot(from) - 1)};
}

std::optional<GlobeView::Seen> GlobeView::seen_at(double x_px, double y_px) const {
  const Crossing line = crossing(x_px, y_px);
  if (line.rest < 0) return std::nullopt;
  const Vector point = line.from + shape_.to_observer * ((std::sqrt(line.rest) - line.b) / line.a);
  const Vector normal = normal_at(point);
  return Seen{point, normal.dot(shape_.to_observer), normal.dot(shape_.to_sun)};
}

GlobeView::Shown GlobeView::shown(const Vector& point) const {
  Shown out = shown_in_plane({point.dot(across_), point.dot(up_)});
  const Vector normal = normal_at(point);
  out.cos_observer = normal.dot(shape_.to_observer);
  out.cos_sun = normal.dot(shape_.to_sun);
  return out;
}

double minnaert(double cos_sun, double cos_observer, double darkening) {
  if (cos_sun <= 0 || cos_observer <= 0) return 0;
  const double at_observer = std::max(cos_observer, kLeastCosine);
  // As one power: both would cost twice.
  return std::exp(darkening * std::log(cos_sun * at_observer)) / at_observer;
}

double minnaert_slope(double cos_sun, double cos_observer) {
  return std::log(cos_sun * std::max(cos_observer, kLeastCosine));
}

Vector moved_east(const Vector& point, double angle_rad) {
  const double s = std::sin(angle_rad);
  const double c = std::cos(angle_rad);
  return {{c * point.at[0] - s * point.at[1], s * point.at[0] + c * point.at[1], point.at[2]}};
}

double smooth_rise(double value, double low, double high) {
  const double t = std::clamp((value - low) / (high - low), 0.0, 1.0);
  return t * t * (3 - 2 * t);
}

double planetographic_latitude_rad(const Vector& point, double axis_ratio) {
  return std::atan2(point.at[2], axis_ratio * axis_ratio * std::hypot(point.at[0], point.at[1]));
}

}  // namespace lull::globe
