#include "globe/limb_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "core/normal_equations.h"
#include "core/reduced.h"
#include "globe/limb_model.h"
#include "globe/ring_fit.h"
#include "globe/rough_place.h"

namespace lull::globe {

namespace {

constexpr double kFittedRadius_px = 60;  // larger discs are fitted in coarser pixels
constexpr int kRounds = 25;
constexpr double kTried = 5;            // such steps that make it worse show the grain of the model
constexpr double kCoreWithHalo = 0.5;   // logarithm: how much narrower it is than both as one
constexpr double kRoughStep_px = 0.02;  // the ring of samples need not lie better
constexpr double kStep_px = 0.005;
constexpr std::size_t kUnknowns = std::tuple_size_v<LimbUnknowns>;
constexpr double kIndependent = 150;  // six places in each of 24 sectors; no source
constexpr double kEnough = 1e-4;      // of the misfit
constexpr double kRoughBlur_px = 1.5;

// What is known before. Minnaert's k of Mars and the giant planets in visible light, and its
// spread (from memory); the halo of what the air leaves, by stacks of the lab.
struct Usual {
  LimbUnknown unknown;
  double value;
  double spread;
};

constexpr std::array kUsual = {Usual{limb_darkening, 0.8, 0.15}, Usual{halo_share, 0.35, 0.3},
                               Usual{halo_width, 1.4, 0.4}};

using Free = std::array<bool, kUnknowns>;
// With the darkening left as it is, and without a halo, the others are found from far away.
constexpr Free kRoughly = {true, true, true, true, false, false, false, false};
constexpr Free kPlace = {true, true, true, true, true, true, true, false};
constexpr Free kCentre = {true, true, false, true, true, true, true, false};
constexpr Free kDarkness = {false, false, false, false, true, false, false, false};
constexpr Free kAll = {true, true, true, true, true, true, true, true};

const Free& free_in(LimbSearch search) {
  if (search == LimbSearch::centre) return kCentre;
  return search == LimbSearch::place ? kPlace : kAll;
}

double square_sum(const std::vector<double>& values) {
  double sum = 0;
  for (const double v : values) sum += v * v;
  return sum;
}

bool is_sound(const LimbUnknowns& u, double start_radius) {
  const bool blur = u[limb_blur] > -1.5 && u[limb_blur] < std::log(0.3 * start_radius);
  const bool halo = u[halo_share] > -0.2 && u[halo_share] < 0.9 && u[halo_width] > 0.4 &&
                    u[limb_blur] + u[halo_width] < std::log(0.6 * start_radius);
  return u[limb_radius] > 0.7 * start_radius && u[limb_radius] < 1.4 * start_radius && blur &&
         (halo || u[halo_share] == 0) && u[limb_darkening] > 0.3 && u[limb_darkening] < 1.6;
}

// Differences of a model to its picture, and of its unknowns to what they usually are.
struct Target {
  const LimbModel& model;
  Free free;
  double prior;  ///< weight of the latter

  [[nodiscard]] std::vector<double> differences(const LimbUnknowns& u) const {
    std::vector<double> out = model.differences(u);
    for (const Usual& usual : kUsual)
      out.push_back(prior * (u[usual.unknown] - usual.value) / usual.spread);
    return out;
  }

  // That makes the differences least, were they linear.
  [[nodiscard]] LimbUnknowns step(const std::vector<std::vector<double>>& slopes,
                                  const LimbUnknowns& u, const std::vector<double>& now,
                                  double damping) const {
    NormalEquations<kUnknowns> sums;
    for (std::size_t k = 0; k < slopes.front().size(); ++k) {
      LimbUnknowns row{};
      for (std::size_t i = 0; i < kUnknowns; ++i) row[i] = slopes[i][k];
      sums.add(row, -now[k]);
    }
    for (const Usual& usual : kUsual) {
      LimbUnknowns row{};
      row[usual.unknown] = prior / usual.spread;
      sums.add(row, -prior * (u[usual.unknown] - usual.value) / usual.spread);
    }
    sums.damp(damping);
    for (std::size_t i = 0; i < kUnknowns; ++i) {
      if (!free[i]) sums.fix(i);
    }
    return sums.solution().value_or(LimbUnknowns{});
  }
};

// Until a step is below so many pixels, or changes nothing.
LimbUnknowns best_unknowns(const Target& target, LimbUnknowns u, double start_radius,
                           double least_step_px) {
  double damping = 1e-3;
  std::vector<double> now = target.differences(u);
  std::vector<std::vector<double>> slopes;
  for (int round = 0; round < kRounds; ++round) {
    if (slopes.empty()) slopes = target.model.slopes(u);
    const LimbUnknowns step = target.step(slopes, u, now, damping);
    LimbUnknowns next = u;
    for (std::size_t i = 0; i < kUnknowns; ++i) next[i] += step[i];
    const double moved_px =
        std::max({std::abs(step[limb_x]), std::abs(step[limb_y]), std::abs(step[limb_radius])});
    std::vector<double> then;
    if (is_sound(next, start_radius)) then = target.differences(next);
    const double before = square_sum(now);
    if (then.empty() || square_sum(then) > before) {
      damping *= 10;
      if (moved_px < kTried * least_step_px) break;
      continue;
    }
    u = next;
    now = std::move(then);
    slopes.clear();
    damping = std::max(damping / 10, 1e-6);
    if (moved_px < least_step_px || square_sum(now) > (1 - kEnough) * before) break;
  }
  return u;
}

LimbFit fit_of(const LimbModel& model, const LimbUnknowns& u, bool by_rings) {
  const std::vector<double> left = model.differences(u);
  const auto n = static_cast<double>(std::max<std::size_t>(left.size(), 1));
  const double rms = std::sqrt(square_sum(left) / n);
  return {
      model.place(u),           std::exp(u[limb_blur]),       u[limb_darkening], model.brightness(),
      rms / model.brightness(), by_rings ? u[halo_share] : 0, by_rings};
}

// The light of the limb of a globe whose place rings tell.
std::optional<LimbFit> fitted_by_rings(PlaneView picture, const GlobeShape& shape,
                                       const GlobePlace& begin, LimbSearch search) {
  const auto rings = fit_rings(picture, shape, begin,
                               {search != LimbSearch::centre, search == LimbSearch::angle_too});
  if (!rings) return std::nullopt;
  const GlobePlace& place = rings->place;
  LimbUnknowns u = {place.x_px,           place.y_px,
                    place.radius_px,      std::log(rings->spread.core_px),
                    kUsual[0].value,      rings->spread.halo_share,
                    std::log(kUsualHalo), place.pole_clockwise_rad};
  const LimbModel model(picture, shape, place, rings->spread.core_px);
  if (!(model.brightness() > 0)) return std::nullopt;
  const double rough = std::sqrt(square_sum(model.differences(u)) / kIndependent);
  u = best_unknowns({model, kDarkness, rough}, u, place.radius_px, kStep_px);
  return fit_of(model, u, true);
}

// The first pass moves the ring of samples to the limb, the second measures. A known radius comes
// with a place that was fitted before.
std::optional<LimbFit> fitted(PlaneView picture, const GlobeShape& shape, GlobePlace begin,
                              LimbSearch search) {
  LimbUnknowns u = {begin.x_px,      begin.y_px, begin.radius_px, std::log(kRoughBlur_px),
                    kUsual[0].value, 0,          kUsual[2].value, begin.pole_clockwise_rad};
  if (tell_place(shape)) {
    if (const auto fit = fitted_by_rings(picture, shape, begin, search)) return fit;
  }
  if (search != LimbSearch::centre) {
    const LimbModel first(picture, shape, begin, kRoughBlur_px);
    if (!(first.brightness() > 0)) return std::nullopt;
    u = best_unknowns({first, kRoughly, 0}, u, begin.radius_px, kRoughStep_px);
    begin = first.place(u);
    u[limb_blur] -= kCoreWithHalo;
  }
  u[halo_share] = kUsual[1].value;
  const LimbModel second(picture, shape, begin, std::exp(u[limb_blur]));
  if (!(second.brightness() > 0)) return std::nullopt;
  // Belts leave differences that go together over many pixels: they count as few.
  const double rough = std::sqrt(square_sum(second.differences(u)) / kIndependent);
  u = best_unknowns({second, free_in(search), rough}, u, begin.radius_px, kStep_px);
  return fit_of(second, u, false);
}

}  // namespace

std::optional<LimbFit> fit_limb(PlaneView picture, const GlobeShape& shape, const GlobePlace& start,
                                LimbSearch search) {
  GlobePlace begin = start;
  if (begin.radius_px <= 0) {
    const auto rough = rough_place(picture, shape, start, Angles::known);
    if (!rough) return std::nullopt;
    begin = *rough;
  }
  const int factor = std::max(1, static_cast<int>(begin.radius_px / kFittedRadius_px));
  if (factor == 1) return fitted(picture, shape, begin, search);
  const Plane coarse = reduced(picture, factor);
  auto fit = fitted(coarse.view(), shape, begin.in_pixels_of(factor), search);
  if (!fit) return fit;
  fit->place = fit->place.in_pixels_of(1.0 / factor);
  fit->blur_px *= factor;
  return fit;
}

}  // namespace lull::globe
