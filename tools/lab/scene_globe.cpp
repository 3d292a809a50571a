#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "core/parallel.h"
#include "files/picture_file.h"
#include "lab/cover.h"
#include "lab/scene.h"

namespace lull::lab {

namespace {

constexpr double kPi = std::numbers::pi;

using Light = CoverLight;

struct Direction {
  double x = 0;
  double y = 0;
  double z = 0;  ///< towards the observer
};

// Rings: brightness and how much they hide at a distance in radii of the globe.
struct Ring {
  double light = 0;
  double hides = 0;
};

Ring ring(const SceneParameters& scene, double r) {
  if (r < scene.ring_inner || r > scene.ring_outer) return {};
  const double t = (r - scene.ring_inner) / (scene.ring_outer - scene.ring_inner);
  const bool gap = t > 0.66 && t < 0.73;
  const double base = t < 0.28 ? 0.25 : t < 0.66 ? 0.85 : 0.62;
  const double grooves = 0.08 * std::sin(60 * t) * std::sin(17 * t);
  return gap ? Ring{0.04, 0.1} : Ring{base + grooves, base};
}

class Globe {
 public:
  Globe(const SceneParameters& scene, std::uint64_t seed) : scene_(scene), seed_(seed) {
    if (!scene.image.empty()) map_ = files::read_picture(scene.image);
    const double axis = scene.axis_deg * kPi / 180;
    cos_axis_ = std::cos(axis);
    sin_axis_ = std::sin(axis);
    const double phase = scene.phase_deg * kPi / 180;
    sun_ = {std::sin(phase), 0, std::cos(phase)};
    opening_ = std::sin(scene.ring_opening_deg * kPi / 180);
    tilt_ = scene.ring_outer > 0 ? scene.ring_opening_deg * kPi / 180 : 0;
  }

  // Light at a place in radii from the centre, +y down.
  [[nodiscard]] Light at(double x, double y, double edge) const {
    const double u = cos_axis_ * x + sin_axis_ * y;
    const double v = -sin_axis_ * x + cos_axis_ * y;
    const double r = std::hypot(u, v);
    const double covered = std::clamp((1 - r) / edge + 0.5, 0.0, 1.0);
    Light light{};
    if (covered > 0) {
      const Direction d{u, v, std::sqrt(std::max(1 - r * r, 0.0))};
      const Light ground = cover(d);
      const double shade = shading(d) * covered;
      for (std::size_t c = 0; c < 3; ++c) light[c] = ground[c] * shade;
    }
    if (scene_.ring_outer <= 0) return light;
    const Ring rings = ring(scene_, std::hypot(u, v / opening_));
    const bool in_front = v > 0;
    const double hidden = in_front ? rings.hides : 0;
    const double shown = in_front ? 1 : 1 - covered;
    for (std::size_t c = 0; c < 3; ++c)
      light[c] = light[c] * (1 - hidden) + 0.8 * rings.light * shown * (c == 2 ? 0.85 : 1);
    return light;
  }

 private:
  [[nodiscard]] double shading(const Direction& d) const {
    const double incidence = d.x * sun_.x + d.y * sun_.y + d.z * sun_.z;
    if (incidence <= 0) return 0;
    // Minnaert 1941, Astrophysical Journal 93, 403; the exponent from the darkening asked for.
    const double k = 0.5 + 0.5 * scene_.limb_darkening;
    return std::pow(incidence, k) * std::pow(std::max(d.z, 0.02), k - 1);
  }

  [[nodiscard]] Light cover(const Direction& d) const {
    const double y = d.y * std::cos(tilt_) - d.z * std::sin(tilt_);
    const double z = d.y * std::sin(tilt_) + d.z * std::cos(tilt_);
    const double latitude = std::asin(std::clamp(-y, -1.0, 1.0));
    const double longitude = std::atan2(d.x, z);
    if (map_) return mapped(latitude, longitude);
    return cover_at(scene_, latitude, longitude, seed_);
  }

  // Equirectangular map, north up.
  [[nodiscard]] Light mapped(double latitude, double longitude) const {
    Light light{};
    for (std::size_t c = 0; c < 3; ++c) {
      const auto& channels = map_->picture.channels;
      const PlaneView plane = channels[std::min(c, channels.size() - 1)].view();
      const double u = (longitude / (2 * kPi) + 0.5) * plane.width_px - 0.5;
      const double v = (0.5 - latitude / kPi) * plane.height_px - 0.5;
      const int x = static_cast<int>(std::floor(u));
      const int y = std::clamp(static_cast<int>(std::floor(v)), 0, plane.height_px - 2);
      const double tx = u - x;
      const double ty = std::clamp(v - y, 0.0, 1.0);
      const int left = (x + plane.width_px) % plane.width_px;
      const int right = (left + 1) % plane.width_px;
      const auto mix = [&](int row) {
        return (1 - tx) * static_cast<double>(plane.row(row)[left]) +
               tx * static_cast<double>(plane.row(row)[right]);
      };
      light[c] = (1 - ty) * mix(y) + ty * mix(y + 1);
    }
    return light;
  }

  const SceneParameters& scene_;
  std::uint64_t seed_;
  std::optional<files::PictureFile> map_;
  double cos_axis_ = 1;
  double sin_axis_ = 0;
  Direction sun_;
  double opening_ = 1;
  double tilt_ = 0;
};

}  // namespace

std::vector<Plane> globe(const Parameters& p, const Canvas& canvas) {
  const SceneParameters& scene = p.scene;
  const std::size_t channels = p.wavelengths_m().size();
  const Globe model(scene, p.seed);
  std::vector<Plane> out;
  for (std::size_t c = 0; c < channels; ++c) out.emplace_back(canvas.size());
  const double cx = 0.5 * (canvas.width_px - 1) + scene.centre_x_px;
  const double cy = 0.5 * (canvas.height_px - 1) + scene.centre_y_px;
  const double edge = 1 / (scene.radius_px * canvas.fineness);
  parallel_for(canvas.size().height_px, [&](std::int64_t row_number) {
    const int y = static_cast<int>(row_number);
    const double v = (canvas.to_frame(y) - cy) / scene.radius_px;
    for (int x = 0; x < canvas.size().width_px; ++x) {
      const Light light = model.at((canvas.to_frame(x) - cx) / scene.radius_px, v, edge);
      for (std::size_t c = 0; c < channels; ++c)
        out[c].row(y)[x] = static_cast<float>(light[p.light_of(c)]);
    }
  });
  return out;
}

}  // namespace lull::lab
