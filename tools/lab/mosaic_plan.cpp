#include "lab/mosaic_plan.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "core/choices.h"
#include "core/error.h"
#include "lab/random.h"

namespace lull::lab {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kWaves = 24;
// The Sun goes round the Moon in a synodic month of 29.530589 days (Meeus 1998, Astronomical
// Algorithms, 2nd ed., ch. 49).
constexpr double kTerminatorDegAMinute = 360 / (29.530589 * 24 * 60);

double half_diagonal(Size size) { return 0.5 * std::hypot(size.width_px, size.height_px); }

Displacement middle_of_panel(Size size) {
  return {0.5 * (size.width_px - 1), 0.5 * (size.height_px - 1)};
}

// Columns and rows in the order of recording.
std::vector<PanelPlan> ordered(const MosaicParameters& p) {
  std::vector<PanelPlan> plans;
  plans.reserve(static_cast<std::size_t>(p.count()));
  for (int row = 0; row < p.rows; ++row) {
    for (int i = 0; i < p.columns; ++i) {
      PanelPlan plan;
      plan.column = row % 2 == 0 ? i : p.columns - 1 - i;
      plan.row = row;
      plans.push_back(plan);
    }
  }
  return plans;
}

std::vector<int> shuffled_numbers(int count, std::uint64_t seed) {
  std::vector<int> numbers(static_cast<std::size_t>(count));
  std::iota(numbers.begin(), numbers.end(), 1);
  Random random({seed, key_of(Draw::panels), 0});
  for (std::size_t i = numbers.size(); i > 1; --i) {
    const auto other = static_cast<std::size_t>(random.uniform() * static_cast<double>(i));
    std::swap(numbers[i - 1], numbers[other]);
  }
  return numbers;
}

}  // namespace

PanelAir panel_air(const std::string& name) {
  if (name == "good") return {0.2, 0.5, 1, 2, 1, 1, 2.5, 3.5, 0.7};
  if (name == "fair") return {};
  if (name == "poor") return {1, 2, 3, 5.5, 1, 1, 7, 9, 1.3};
  if (name == "changing") return {0.3, 1.5, 1, 6, 0.5, 3, 2.5, 9, 1};
  throw UsageError(fmt::format("--air {}: it is good, fair, poor or changing.{}", name,
                               did_you_mean(name, {"good", "fair", "poor", "changing"})));
}

Displacement MosaicParameters::step_px() const {
  return {std::round(panel.width_px * (1 - overlap)), std::round(panel.height_px * (1 - overlap))};
}

int MosaicParameters::margin_px() const {
  const double reach = half_diagonal(panel);
  const double off = pointing * std::max(panel.width_px, panel.height_px) +
                     reach * (turn_deg * kPi / 180 + scale + distortion);
  return static_cast<int>(std::ceil(off)) + 24;
}

Size MosaicParameters::scene_size() const {
  const Displacement step = step_px();
  const int margin = 2 * margin_px();
  return {panel.width_px + static_cast<int>(step.x_px) * (columns - 1) + margin,
          panel.height_px + static_cast<int>(step.y_px) * (rows - 1) + margin};
}

void check(const MosaicParameters& p) {
  constexpr std::int64_t kMostPx = 400'000'000;
  if (p.scene != "moon" && p.scene != "sun" && p.scene != "sun-narrow") {
    throw UsageError(fmt::format("--scene {}: it is moon, sun or sun-narrow.{}", p.scene,
                                 did_you_mean(p.scene, {"moon", "sun", "sun-narrow"})));
  }
  if (p.columns < 1 || p.rows < 1 || p.count() > 999)
    throw UsageError("--columns and --rows: 1 to 999 panels in all are possible");
  if (std::min(p.panel.width_px, p.panel.height_px) < 64)
    throw UsageError("--panel: a panel has at least 64 px a side");
  if (!(p.overlap >= 0.05 && p.overlap <= 0.6))
    throw UsageError("--overlap: panels overlap by 5% to 60%");
  if (!(p.libration_deg >= 0 && p.libration_deg <= 1))
    throw UsageError("--libration: 0 to 1 degrees are possible");
  if (p.frames < 0 || p.frames > 100'000) throw UsageError("--frames: 1 to 100000 are possible");
  if (!(p.hours >= 0 && p.hours <= 12)) throw UsageError("--hours: 0 to 12 hours are possible");
  if (p.scene_size().area_px() > kMostPx) {
    throw UsageError(
        fmt::format("the scene would have {} megapixels, and {} are possible: choose "
                    "fewer or smaller panels",
                    p.scene_size().area_px() / 1'000'000, kMostPx / 1'000'000));
  }
}

SceneDisc disc_of(const MosaicParameters& p) {
  const Size size = p.scene_size();
  const double width = size.width_px - 2.0 * p.margin_px();
  const double height = size.height_px - 2.0 * p.margin_px();
  const double middle = 0.5 * (size.width_px - 1);
  if (p.is_sun()) return {{middle, 0.5 * (size.height_px - 1)}, 0.485 * std::min(width, height), 0};
  // The lit part is 1 + cos(phase) radii high.
  const double lit = 0.94 * height;
  const double radius = std::min(0.485 * width, lit);
  const double cosine = std::clamp(lit / radius - 1, 0.0, 0.94);
  return {{middle, p.margin_px() + 0.03 * height + radius}, radius, std::acos(cosine) * 180 / kPi};
}

BentField::BentField(std::initializer_list<std::uint64_t> key, double rms_px, double shortest_px)
    : amplitude_px_(rms_px / std::sqrt(kWaves)) {
  Random random(key);
  waves_.reserve(kWaves);
  for (int i = 0; i < kWaves; ++i) {
    const double rad_per_px = 2 * kPi / (shortest_px * random.uniform(1, 3));
    const double direction = random.uniform(0, kPi);
    const double phase = random.uniform(0, 2 * kPi);
    waves_.push_back({rad_per_px * std::cos(direction), rad_per_px * std::sin(direction), phase,
                      random.uniform(0, 2 * kPi)});
  }
}

Displacement BentField::at(double x_px, double y_px) const {
  Displacement sum;
  for (const Wave& wave : waves_) {
    const double angle = wave.across * x_px + wave.down * y_px;
    sum.x_px += std::cos(angle + wave.phase_x);
    sum.y_px += std::cos(angle + wave.phase_y);
  }
  return {amplitude_px_ * sum.x_px, amplitude_px_ * sum.y_px};
}

std::vector<PanelPlan> plan_panels(const MosaicParameters& p) {
  std::vector<PanelPlan> plans = ordered(p);
  const double phase_deg = disc_of(p).phase_deg;
  const std::vector<int> numbers = shuffled_numbers(p.count(), p.seed);
  const Displacement step = p.step_px();
  const Displacement first = middle_of_panel(p.panel);
  for (std::size_t i = 0; i < plans.size(); ++i) {
    Random random({p.seed, key_of(Draw::panels), 1, i});
    const auto about = [&](double bound) { return random.uniform(-bound, bound); };
    const double progress = plans.size() > 1 ? static_cast<double>(i) / (p.count() - 1) : 0;
    PanelPlan& plan = plans[i];
    plan.number = numbers[i];
    plan.minutes =
        p.hours > 0 ? 60 * p.hours * progress : p.minutes_a_panel * static_cast<double>(i);
    plan.middle = {
        first.x_px + p.margin_px() + step.x_px * plan.column + about(p.pointing * p.panel.width_px),
        first.y_px + p.margin_px() + step.y_px * plan.row + about(p.pointing * p.panel.height_px)};
    plan.scale = 1 + about(p.scale);
    plan.turn_rad = about(p.turn_deg) * kPi / 180 + (progress > 1 - p.flipped ? kPi : 0);
    plan.gain = 1 + about(p.gain);
    plan.offset = about(p.offset);
    plan.d_over_r0 =
        p.recorded() ? random.uniform(p.air.least_instant_d_over_r0, p.air.most_instant_d_over_r0)
                     : random.uniform(p.air.least_d_over_r0, p.air.most_d_over_r0);
    const double bend_px = random.uniform(p.air.least_bend_px, p.air.most_bend_px);
    plan.bend_px = p.recorded() ? 0 : bend_px;
    plan.bend_shortest_px = random.uniform(100, 300);
    plan.noise = p.noise * random.uniform(p.air.least_noise, p.air.most_noise);
    // The Moon waxes.
    plan.phase_deg = phase_deg - kTerminatorDegAMinute * 60 * p.hours * (progress - 0.5);
    plan.libration_rad = p.libration_deg * kPi / 180 * (progress - 0.5);
    plan.bent =
        BentField({p.seed, key_of(Draw::panels), 2, i}, plan.bend_px, plan.bend_shortest_px);
  }
  return plans;
}

Displacement scene_place(const MosaicParameters& p, const PanelPlan& plan, const SceneDisc& disc,
                         Displacement place) {
  const Displacement from_middle =
      place + plan.bent.at(place.x_px, place.y_px) - middle_of_panel(p.panel);
  const double r = std::hypot(from_middle.x_px, from_middle.y_px) / half_diagonal(p.panel);
  const double grown = plan.scale * (1 + p.distortion * r * r);
  const double cosine = grown * std::cos(plan.turn_rad);
  const double sine = grown * std::sin(plan.turn_rad);
  const Displacement seen = {
      plan.middle.x_px + cosine * from_middle.x_px - sine * from_middle.y_px,
      plan.middle.y_px + sine * from_middle.x_px + cosine * from_middle.y_px};
  // The globe turns about an axis in the plane of the sky, 20 degrees from the vertical: ground
  // moves by how far it stands towards the observer.
  constexpr double kAxisRad = 20 * kPi / 180;
  const Displacement on_disc = seen - disc.centre;
  const double off = std::hypot(on_disc.x_px, on_disc.y_px) / disc.radius_px;
  const double moved =
      plan.libration_rad * disc.radius_px * std::sqrt(std::max(1 - off * off, 0.0));
  return seen + Displacement{moved * std::cos(kAxisRad), moved * std::sin(kAxisRad)};
}

}  // namespace lull::lab
