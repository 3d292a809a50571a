// A planet as it stands at a date: flattened, tilted, partly in shadow, ringed, and turning.
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "core/error.h"
#include "core/parallel.h"
#include "lab/cover.h"
#include "lab/saturn_rings.h"
#include "lab/scene.h"
#include "sky/aspect.h"

namespace lull::lab {

namespace {

constexpr double kRad = std::numbers::pi / 180;
constexpr double kSecondsPerDay = 86'400;
// Near the limb pixels are means of so many places a side.
constexpr int kFine = 4;
constexpr double kNearLimb = 0.025;  // of the radius
constexpr double kFarAway = 10;      // equatorial radii
constexpr CoverLight kRingColour = {1, 0.97, 0.85};

// Degrees a day that the clouds of Jupiter gain on System III within 10 degrees of the equator and
// beyond: Systems I and II (Archinal et al. 2018, Cel. Mech. Dyn. Astr. 130:22).
constexpr double kOne_deg_per_day = 877.900 - 870.536;
constexpr double kTwo_deg_per_day = 870.270 - 870.536;
constexpr double kEquatorial_deg = 10;

sky::Body body_named(const std::string& name) {
  for (const sky::Body body : sky::kBodies) {
    if (sky::body_name(body) == name) return body;
  }
  throw UsageError("scene.planet: '" + name + "' is no planet");
}

Utc moment_of(const std::string& name, const std::string& text) {
  const auto moment = parse_iso8601(text);
  if (!moment) throw UsageError("scene." + name + ": '" + text + "' is no moment of UTC");
  return *moment;
}

class Planet {
 public:
  // `since_s`: from the moment of the truth.
  Planet(const Parameters& p, const CoverMap& cover, double since_s)
      : parameters_(p),
        cover_(cover),
        body_(body_named(p.scene.planet)),
        ratio_(sky::globe_of(body_).axis_ratio()),
        since_s_(p.scene.still ? 0 : since_s) {
    const Utc moment = moment_of("utc", p.scene.utc);
    if (!p.scene.clouds_utc.empty())
      clouds_s_ = seconds_between(moment_of("clouds_utc", p.scene.clouds_utc), moment);
    const sky::Aspect aspect = sky::aspect_of(body_, sky::Observer(after(moment, since_s_)));
    const double pole = (p.scene.north_deg - aspect.pole_deg) * kRad;
    cos_pole_ = std::cos(pole);
    sin_pole_ = std::sin(pole);
    const double sense = sky::longitude_sense(body_) == sky::LongitudeSense::east ? 1 : -1;
    middle_east_rad_ = sense * aspect.below_observer.longitude_deg * kRad;
    const double tilt = aspect.below_observer.centric_latitude_deg * kRad;
    cos_tilt_ = std::cos(tilt);
    sin_tilt_ = std::sin(tilt);
    const double sun_east = sense * aspect.below_sun.longitude_deg * kRad - middle_east_rad_;
    const double sun_up = aspect.below_sun.centric_latitude_deg * kRad;
    sun_ = {std::cos(sun_up) * std::cos(sun_east), std::cos(sun_up) * std::sin(sun_east),
            std::sin(sun_up)};
  }

  // Whether a place lies within a few hundredths of the radius of the limb.
  [[nodiscard]] bool near_limb(double x, double y) const {
    return std::abs(sight_of(x, y).root) < 2 * kNearLimb;
  }

  // Light at a place in equatorial radii from the centre, +y down.
  [[nodiscard]] CoverLight at(double x, double y) const {
    const Sight sight = sight_of(x, y);
    const double w = sight.root < 0 ? -kFarAway : (std::sqrt(sight.root) - sight.b) / sight.a;
    CoverLight light = sight.root < 0 ? CoverLight{} : globe_light(sight, w);
    if (body_ == sky::Body::saturn) add_rings(sight, w, light);
    return light;
  }

 private:
  // Axes of the planet, x below the observer's meridian: a line of sight is this place, and so far
  // w towards the observer. It meets the ellipsoid x^2 + y^2 + (z / q)^2 = 1, that is
  // a w^2 + 2 b w + d = 0.
  struct Sight {
    double east;
    double up;
    double a;
    double b;
    double root;  ///< b^2 - a d; below 0: beside the planet
  };

  [[nodiscard]] CoverLight globe_light(const Sight& sight, double w) const {
    const double c = cos_tilt_;
    const double s = sin_tilt_;
    const double q2 = ratio_ * ratio_;
    const std::array<double, 3> point = {w * c - sight.up * s, sight.east, sight.up * c + w * s};
    const std::array<double, 3> normal = {point[0], point[1], point[2] / q2};
    const double length = std::hypot(normal[0], normal[1], normal[2]);
    const double seen = (normal[0] * c + normal[2] * s) / length;
    const double lit = (normal[0] * sun_[0] + normal[1] * sun_[1] + normal[2] * sun_[2]) / length;
    if (lit <= 0) return {};
    const double latitude = std::atan2(normal[2], std::hypot(normal[0], normal[1]));
    const double longitude = middle_east_rad_ + std::atan2(point[1], point[0]) - drift(latitude);
    const double k = 0.5 + 0.5 * parameters_.scene.limb_darkening;
    // Minnaert 1941, Astrophysical Journal 93, 403.
    double shade = std::pow(lit, k) * std::pow(std::max(seen, 0.02), k - 1);
    if (body_ == sky::Body::saturn) shade *= past_rings(point);
    CoverLight light = cover_.at(latitude, longitude);
    for (double& one : light) one *= shade;
    return light;
  }

  // Part of the sunlight that reaches a point of the surface.
  [[nodiscard]] double past_rings(const std::array<double, 3>& point) const {
    const double t = -point[2] / sun_[2];
    if (t <= 0) return 1;
    return 1 - saturn_ring(std::hypot(point[0] + t * sun_[0], point[1] + t * sun_[1])).hides;
  }

  // Rings lie in the plane of the equator. They hide the globe where they lie nearer than it.
  void add_rings(const Sight& sight, double w, CoverLight& light) const {
    const double s = sin_tilt_;
    if (s == 0 || -sight.up * cos_tilt_ / s < w) return;
    const double x = -sight.up / s;
    const SaturnRing ring = saturn_ring(std::hypot(x, sight.east));
    const bool lit = s * sun_[2] > 0;
    const double glow = in_globe_shadow(x, sight.east) ? 0 : lit ? ring.light : ring.unlit;
    for (std::size_t i = 0; i < light.size(); ++i)
      light[i] = light[i] * (1 - ring.hides) + glow * kRingColour[i];
  }

  // Of a place in the plane of the rings: whether the way to the Sun passes through the globe.
  [[nodiscard]] bool in_globe_shadow(double x, double y) const {
    const double q2 = ratio_ * ratio_;
    const double a = sun_[0] * sun_[0] + sun_[1] * sun_[1] + sun_[2] * sun_[2] / q2;
    const double b = x * sun_[0] + y * sun_[1];
    return b < 0 && b * b > a * (x * x + y * y - 1);
  }

  [[nodiscard]] Sight sight_of(double x, double y) const {
    const double c = cos_tilt_;
    const double s = sin_tilt_;
    const double q2 = ratio_ * ratio_;
    Sight sight{cos_pole_ * x + sin_pole_ * y, sin_pole_ * x - cos_pole_ * y, c * c + s * s / q2, 0,
                0};
    sight.b = sight.up * s * c * (1 / q2 - 1);
    const double d = sight.east * sight.east + sight.up * sight.up * (s * s + c * c / q2) - 1;
    sight.root = sight.b * sight.b - sight.a * d;
    return sight;
  }

  [[nodiscard]] double drift(double latitude) const {
    if (body_ != sky::Body::jupiter) return 0;
    const bool fast = std::abs(latitude) < kEquatorial_deg * kRad;
    return (fast ? kOne_deg_per_day : kTwo_deg_per_day) * kRad * (clouds_s_ + since_s_) /
           kSecondsPerDay;
  }

  const Parameters& parameters_;
  const CoverMap& cover_;
  sky::Body body_;
  double ratio_;
  double since_s_;
  double clouds_s_ = 0;  ///< from the clouds' moment to that of the truth
  double cos_pole_ = 1;
  double sin_pole_ = 0;
  double middle_east_rad_ = 0;
  double cos_tilt_ = 1;
  double sin_tilt_ = 0;
  std::array<double, 3> sun_{};
};

}  // namespace

std::vector<Plane> planet(const Parameters& p, const CoverMap& cover, const Canvas& canvas,
                          double since_s) {
  const SceneParameters& scene = p.scene;
  const Planet model(p, cover, since_s);
  const std::size_t channels = p.wavelengths_m().size();
  std::vector<Plane> out;
  for (std::size_t c = 0; c < channels; ++c) out.emplace_back(canvas.size());
  const double cx = 0.5 * (canvas.width_px - 1) + scene.centre_x_px;
  const double cy = 0.5 * (canvas.height_px - 1) + scene.centre_y_px;
  const double step = 1 / (scene.radius_px * canvas.fineness);
  parallel_for(canvas.size().height_px, [&](std::int64_t row_number) {
    const int y = static_cast<int>(row_number);
    const double v = (canvas.to_frame(y) - cy) / scene.radius_px;
    for (int x = 0; x < canvas.size().width_px; ++x) {
      const double u = (canvas.to_frame(x) - cx) / scene.radius_px;
      const int fine = model.near_limb(u, v) ? kFine : 1;
      for (int i = 0; i < fine * fine; ++i) {
        const CoverLight light = model.at(u + step * ((i % fine + 0.5) / fine - 0.5),
                                          v + step * ((i / fine + 0.5) / fine - 0.5));
        for (std::size_t c = 0; c < channels; ++c)
          out[c].row(y)[x] += static_cast<float>(light[p.light_of(c)] / (fine * fine));
      }
    }
  });
  return out;
}

}  // namespace lull::lab
