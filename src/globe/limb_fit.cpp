#include "globe/limb_fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <vector>

#include "core/normal_equations.h"
#include "core/parallel.h"
#include "globe/limb_model.h"

namespace lull::globe {

namespace {

constexpr double kLeastRadius_px = 10;
constexpr double kRoughLevel = 0.4;      // between the sky and the brightest
constexpr double kFittedRadius_px = 80;  // larger discs are fitted in coarser pixels
constexpr int kRounds = 25;
constexpr double kRoughStep_px = 0.02;  // the ring of samples need not lie better
constexpr double kStep_px = 0.002;
constexpr std::size_t kUnknowns = std::tuple_size_v<LimbUnknowns>;
// With the darkening left as it is, the others are found from far away.
constexpr std::size_t kAllButDarkening = kUnknowns - 1;
// Minnaert's k of Mars and the giant planets in visible light, and its spread (from memory).
constexpr double kUsualDarkening = 0.8;
constexpr double kDarkeningSpread = 0.15;
constexpr double kIndependent = 72;  // three places in each of 24 sectors; no source
constexpr double kMostSky = 0.3;     // of the brightest: more is no sky
// Of the derivatives, in the order of the unknowns.
constexpr LimbUnknowns kSteps = {0.1, 0.1, 0.1, 0.05, 0.02};

double square_sum(const std::vector<double>& values) {
  double sum = 0;
  for (const double v : values) sum += v * v;
  return sum;
}

// A step of the unknowns that have slopes.
LimbUnknowns step_of(const std::vector<std::vector<double>>& slopes, const std::vector<double>& now,
                     double damping) {
  NormalEquations<kUnknowns> sums;
  for (std::size_t k = 0; k < now.size(); ++k) {
    LimbUnknowns row{};
    for (std::size_t i = 0; i < slopes.size(); ++i) row[i] = slopes[i][k];
    sums.add(row, -now[k]);
  }
  sums.damp(damping);
  for (std::size_t i = slopes.size(); i < kUnknowns; ++i) sums.fix(i);
  return sums.solution().value_or(LimbUnknowns{});
}

bool is_sound(const LimbUnknowns& u, double start_radius) {
  return u[2] > 0.7 * start_radius && u[2] < 1.4 * start_radius && u[3] > -1.5 &&
         u[3] < std::log(0.3 * start_radius) && u[4] > 0.3 && u[4] < 1.6;
}

// Differences of a model to its picture, and of its darkening to that of planets.
struct Target {
  const LimbModel& model;
  double prior = 0;  ///< weight of the latter

  [[nodiscard]] std::vector<double> differences(const LimbUnknowns& u) const {
    std::vector<double> out = model.differences(u);
    out.push_back(prior * (u[4] - kUsualDarkening));
    return out;
  }
};

using Slopes = std::vector<std::vector<double>>;

// By the first `free` unknowns.
Slopes slopes_at(const Target& model, const LimbUnknowns& u, const std::vector<double>& now,
                 std::size_t free) {
  Slopes slopes(free);
  parallel_for(static_cast<std::int64_t>(free), [&](std::int64_t unknown) {
    const auto i = static_cast<std::size_t>(unknown);
    LimbUnknowns moved = u;
    moved[i] += kSteps[i];
    slopes[i] = model.differences(moved);
    for (std::size_t k = 0; k < now.size(); ++k) slopes[i][k] = (slopes[i][k] - now[k]) / kSteps[i];
  });
  return slopes;
}

// Moves the first `free` unknowns, until a step is below so many pixels.
LimbUnknowns best_unknowns(const Target& model, LimbUnknowns u, double start_radius,
                           std::size_t free, double least_step_px) {
  double damping = 1e-3;
  std::vector<double> now = model.differences(u);
  Slopes slopes;
  for (int round = 0; round < kRounds; ++round) {
    if (slopes.empty()) slopes = slopes_at(model, u, now, free);
    const LimbUnknowns step = step_of(slopes, now, damping);
    LimbUnknowns next = u;
    for (std::size_t i = 0; i < kUnknowns; ++i) next[i] += step[i];
    const double moved_px = std::max({std::abs(step[0]), std::abs(step[1]), std::abs(step[2])});
    std::vector<double> then;
    if (is_sound(next, start_radius)) then = model.differences(next);
    if (then.empty() || square_sum(then) > square_sum(now)) {
      damping *= 10;
      continue;
    }
    u = next;
    now = std::move(then);
    slopes.clear();
    damping = std::max(damping / 10, 1e-6);
    if (moved_px < least_step_px) break;
  }
  return u;
}

// The first pass moves the ring of samples to the limb, the second measures.
std::optional<LimbFit> fitted(PlaneView picture, const GlobeShape& shape, GlobePlace begin) {
  LimbUnknowns u = {begin.x_px, begin.y_px, begin.radius_px, std::log(1.5), kUsualDarkening};
  const LimbModel first(picture, shape, begin);
  if (!(first.brightness() > 0)) return std::nullopt;
  u = best_unknowns({first}, u, begin.radius_px, kAllButDarkening, kRoughStep_px);
  begin = first.place(u);
  const LimbModel second(picture, shape, begin);
  if (!(second.brightness() > 0)) return std::nullopt;
  // Belts leave differences that go together over many pixels: they count as few.
  const double rough = std::sqrt(square_sum(second.differences(u)) / kIndependent);
  u = best_unknowns({second, rough / kDarkeningSpread}, u, begin.radius_px, kUnknowns, kStep_px);
  const std::vector<double> left = second.differences(u);
  const double rms = std::sqrt(square_sum(left) / static_cast<double>(left.size()));
  return LimbFit{second.place(u), std::exp(u[3]), u[4], second.brightness(),
                 rms / second.brightness()};
}

Plane in_coarse_pixels(PlaneView picture, int factor) {
  Plane out(picture.width_px / factor, picture.height_px / factor);
  const auto share = static_cast<float>(1.0 / (factor * factor));
  for (int y = 0; y < out.height() * factor; ++y) {
    for (int x = 0; x < out.width() * factor; ++x)
      out.row(y / factor)[x / factor] += share * picture.at(x, y);
  }
  return out;
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

std::optional<LimbFit> fit_limb(PlaneView picture, const GlobeShape& shape,
                                const GlobePlace& start) {
  GlobePlace begin = start;
  if (begin.radius_px <= 0) {
    const auto rough = rough_place(picture, shape, start);
    if (!rough) return std::nullopt;
    begin = *rough;
  }
  const int factor = std::max(1, static_cast<int>(begin.radius_px / kFittedRadius_px));
  if (factor == 1) return fitted(picture, shape, begin);
  const Plane coarse = in_coarse_pixels(picture, factor);
  const double middle = 0.5 * (factor - 1);  // of the first coarse pixel, in fine ones
  begin.x_px = (begin.x_px - middle) / factor;
  begin.y_px = (begin.y_px - middle) / factor;
  begin.radius_px /= factor;
  auto fit = fitted(coarse.view(), shape, begin);
  if (!fit) return fit;
  fit->place.x_px = fit->place.x_px * factor + middle;
  fit->place.y_px = fit->place.y_px * factor + middle;
  fit->place.radius_px *= factor;
  fit->blur_px *= factor;
  return fit;
}

}  // namespace lull::globe
