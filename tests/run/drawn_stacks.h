#pragma once

#include <functional>
#include <string>
#include <utility>
#include <vector>

#include "core/utc.h"
#include "globe/derotate.h"
#include "globe/globe_scene.h"
#include "run/linear_file.h"
#include "sky/aspect.h"
#include "support/temporary_folder.h"

namespace lull::run {

/// A linear stack as `lull stack` writes it: the mean of two halves of the same noise.
/// @param more  cards, in place of others of their names.
inline std::string write_stack(const test::TemporaryFolder& folder, const std::string& name,
                               Plane picture, double noise_sigma, Utc moment,
                               std::vector<files::Card> more = {}) {
  Plane noise(picture.size());
  globe::add_noise(noise, noise_sigma, std::hash<std::string>{}(name));
  globe::add_noise(picture, noise_sigma, std::hash<std::string>{}(name) + 1);
  finish::Measurements measured;
  measured.noise.push_back(std::move(noise));
  measured.frc.rings = {{0.1, 1, 100}, {0.3, 0.5, 100}};
  std::vector<files::Card> cards = {{"CAPTURE", name + ".ser", "capture"},
                                    {"DATE-AVG", iso8601(moment), "mean of the kept frames"}};
  for (files::Card& card : more) {
    std::erase_if(cards, [&](const auto& one) { return one.key == card.key; });
    cards.push_back(std::move(card));
  }
  write_linear(folder.file(name), {{picture.view()}}, cards, measured, {});
  return folder.file(name);
}

/// How a planet lies in one drawn picture.
struct Pose {
  double later_s = 0;
  double x_px = 69.4;
  double y_px = 65.3;
  double radius_px = 50;
  double turned_deg = 0;  ///< of the camera
  bool mirrored = false;
};

/// A planet as it stands at a date, north at 20 degrees; its clouds run by latitude.
struct DrawnPlanet {
  sky::Body body = sky::Body::jupiter;
  Utc middle{};
  globe::Surface surface = globe::spotted;
  Size size{140, 130};
  double darkening = 0.9;
  double north_deg = 20;
  double noise = 0.006;

  [[nodiscard]] Plane at(const Pose& pose) const {
    const sky::Aspect aspect = sky::aspect_of(body, sky::Observer(after(middle, pose.later_s)));
    const double side = pose.mirrored ? 1 : -1;
    const globe::GlobePlace place{
        pose.x_px, pose.y_px, pose.radius_px,
        (north_deg + pose.turned_deg + side * aspect.pole_deg) * sky::kDegree, pose.mirrored};
    const globe::GlobeShape shape = globe::shape_of(body, aspect);
    const auto clouds = [&](const sky::Vector& point) {
      const double drift = globe::cloud_drift_rad_per_s(
          body, globe::planetographic_latitude_rad(point, shape.axis_ratio));
      return surface(globe::moved_east(point, -drift * pose.later_s));
    };
    return globe::drawn(globe::GlobeView(shape, place), size, darkening, clouds, 1.2);
  }

  [[nodiscard]] std::string stack(const test::TemporaryFolder& folder, const std::string& name,
                                  const Pose& pose, std::vector<files::Card> more = {}) const {
    return write_stack(folder, name, at(pose), noise, after(middle, pose.later_s), std::move(more));
  }
};

}  // namespace lull::run
