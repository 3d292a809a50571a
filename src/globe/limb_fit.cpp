#include "globe/limb_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "core/normal_equations.h"
#include "core/reduced.h"
#include "globe/limb_model.h"

namespace lull::globe {

namespace {

constexpr double kLeastRadius_px = 10;
constexpr double kRoughLevel = 0.4;      // between the sky and the brightest
constexpr double kFittedRadius_px = 60;  // larger discs are fitted in coarser pixels
constexpr int kRounds = 25;
constexpr double kTried = 5;            // such steps that make it worse show the grain of the model
constexpr double kCoreWithHalo = 0.5;   // logarithm: how much narrower it is than both as one
constexpr double kRoughStep_px = 0.02;  // the ring of samples need not lie better
constexpr double kStep_px = 0.005;
constexpr std::size_t kUnknowns = std::tuple_size_v<LimbUnknowns>;
constexpr double kIndependent = 150;  // six places in each of 24 sectors; no source
constexpr double kMostSky = 0.3;      // of the brightest: more is no sky
constexpr double kEnough = 1e-4;      // of the misfit

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

// The first pass moves the ring of samples to the limb, the second measures. A known radius comes
// with a place that was fitted before.
std::optional<LimbFit> fitted(PlaneView picture, const GlobeShape& shape, GlobePlace begin,
                              LimbSearch search) {
  LimbUnknowns u = {begin.x_px,      begin.y_px, begin.radius_px, std::log(1.5),
                    kUsual[0].value, 0,          kUsual[2].value, begin.pole_clockwise_rad};
  if (search != LimbSearch::centre) {
    const LimbModel first(picture, shape, begin);
    if (!(first.brightness() > 0)) return std::nullopt;
    u = best_unknowns({first, kRoughly, 0}, u, begin.radius_px, kRoughStep_px);
    begin = first.place(u);
    u[limb_blur] -= kCoreWithHalo;
  }
  u[halo_share] = kUsual[1].value;
  const LimbModel second(picture, shape, begin);
  if (!(second.brightness() > 0)) return std::nullopt;
  // Belts leave differences that go together over many pixels: they count as few.
  const double rough = std::sqrt(square_sum(second.differences(u)) / kIndependent);
  u = best_unknowns({second, free_in(search), rough}, u, begin.radius_px, kStep_px);
  const std::vector<double> left = second.differences(u);
  const double rms = std::sqrt(square_sum(left) / static_cast<double>(left.size()));
  return LimbFit{second.place(u), std::exp(u[limb_blur]), u[limb_darkening], second.brightness(),
                 rms / second.brightness()};
}

}  // namespace

std::optional<GlobePlace> rough_place(PlaneView picture, const GlobeShape& shape,
                                      const GlobePlace& angles) {
  std::vector<float> values;
  for (int y = 0; y < picture.height_px; ++y)
    values.insert(values.end(), picture.row(y), picture.row(y) + picture.width_px);
  const auto quantile = [&](double part) {
    const auto at =
        values.begin() + static_cast<std::ptrdiff_t>(part * static_cast<double>(values.size() - 1));
    std::nth_element(values.begin(), at, values.end());
    return static_cast<double>(*at);
  };
  const double low = quantile(0.1);
  const double high = quantile(0.999);
  if (low > kMostSky * high) return std::nullopt;
  const double level = low + kRoughLevel * (high - low);
  double x_sum = 0;
  double y_sum = 0;
  double n = 0;
  for (int y = 0; y < picture.height_px; ++y) {
    for (int x = 0; x < picture.width_px; ++x) {
      if (static_cast<double>(picture.at(x, y)) <= level) continue;
      x_sum += x;
      y_sum += y;
      n += 1;
    }
  }
  GlobePlace place = angles;
  const double tilt = shape.to_observer.latitude_rad();
  const double height = std::hypot(std::sin(tilt), shape.axis_ratio * std::cos(tilt));
  place.radius_px = std::sqrt(n / (std::numbers::pi * height));
  if (place.radius_px < kLeastRadius_px || n > 0.8 * static_cast<double>(values.size()))
    return std::nullopt;
  place.x_px = x_sum / n;
  place.y_px = y_sum / n;
  return place;
}

std::optional<LimbFit> fit_limb(PlaneView picture, const GlobeShape& shape, const GlobePlace& start,
                                LimbSearch search) {
  GlobePlace begin = start;
  if (begin.radius_px <= 0) {
    const auto rough = rough_place(picture, shape, start);
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
