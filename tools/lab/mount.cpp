#include "lab/mount.h"

#include <cmath>
#include <numbers>

namespace lull::lab {

namespace {

constexpr double kGustDecayS = 0.2;
constexpr double kGustHz = 5;  // at which a telescope swings

template <class Kick>
std::vector<Kick> kicks(double per_s, double size_px, double duration_s, Random& random) {
  std::vector<Kick> out;
  if (per_s <= 0) return out;
  for (double t = 0; t < duration_s;) {
    t -= std::log(random.uniform()) / per_s;
    out.push_back({t, {size_px * random.normal(), size_px * random.normal()}});
  }
  return out;
}

}  // namespace

Mount::Mount(const MountParameters& parameters, std::uint64_t seed, double duration_s)
    : parameters_(parameters),
      middle_s_(duration_s / 2),
      periodic_phase_(0),
      shake_x_({seed, key_of(Draw::mount), 1}, parameters.shake_hz),
      shake_y_({seed, key_of(Draw::mount), 2}, parameters.shake_hz),
      wander_x_({seed, key_of(Draw::mount), 4}, 1 / parameters.wander_s),
      wander_y_({seed, key_of(Draw::mount), 5}, 1 / parameters.wander_s) {
  Random random({seed, key_of(Draw::mount), 3});
  periodic_phase_ = random.uniform(0, 2 * std::numbers::pi);
  jumps_ = kicks<Kick>(parameters.jumps_per_s, parameters.jump_px, duration_s, random);
  gusts_ = kicks<Kick>(parameters.gusts_per_s, parameters.gust_px, duration_s, random);
}

Displacement Mount::jump(double time_s) const {
  Displacement out;
  for (const Kick& kick : jumps_) {
    if (kick.time_s <= time_s) out = kick.size;
  }
  return out;
}

Displacement Mount::gust(double time_s) const {
  Displacement out;
  for (const Kick& kick : gusts_) {
    const double since = time_s - kick.time_s;
    if (since < 0) continue;
    const double swing =
        std::exp(-since / kGustDecayS) * std::sin(2 * std::numbers::pi * kGustHz * since);
    out.x_px += kick.size.x_px * swing;
    out.y_px += kick.size.y_px * swing;
  }
  return out;
}

Displacement Mount::at(double time_s) const {
  const double since = time_s - middle_s_;
  const double periodic =
      parameters_.periodic_px *
      std::sin(2 * std::numbers::pi * time_s / parameters_.periodic_s + periodic_phase_);
  const Displacement jumped = jump(time_s);
  const Displacement blown = gust(time_s);
  return {parameters_.drift_x_px_s * since + periodic + parameters_.shake_px * shake_x_.at(time_s) +
              parameters_.wander_px * wander_x_.at(time_s) + jumped.x_px + blown.x_px,
          parameters_.drift_y_px_s * since + parameters_.shake_px * shake_y_.at(time_s) +
              parameters_.wander_px * wander_y_.at(time_s) + jumped.y_px + blown.y_px};
}

double Mount::turn_rad(double time_s) const {
  return parameters_.rotation_deg_s * (time_s - middle_s_) * std::numbers::pi / 180;
}

}  // namespace lull::lab
