#include "finish/limb.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/normal_equations.h"
#include "core/parallel.h"
#include "core/statistics.h"

namespace lull::finish {

namespace {

constexpr double kKeptShare = 0.6;
constexpr double kWorstFitPx = 3;
constexpr int kRounds = 6;
constexpr double kOutermost = 0.99;    // of the radius, for factors
constexpr double kFitWithin = 0.97;    // for the law: beyond, blur mixes it with the sky
constexpr double kLeastFactor = 0.05;  // of the law's brightest place

double cosine_at(const Circle& limb, double x, double y) {
  const double r = std::hypot(x - limb.x_px, y - limb.y_px) / limb.radius_px;
  const double inside = std::min(r, kOutermost);
  return std::sqrt(1 - inside * inside);
}

using Law = std::array<double, 3>;

double value_of(const Law& law, double mu) { return law[0] + mu * (law[1] + mu * law[2]); }

// Brightness over the disc, spots and faculae left out.
std::optional<Law> law_of(PlaneView plane, const Circle& limb) {
  std::optional<Law> law;
  double tolerance = 0;
  const double least_mu = std::sqrt(1 - kFitWithin * kFitWithin);
  for (int round = 0; round < kRounds; ++round) {
    NormalEquations<3> fit;
    std::vector<double> misses;
    for (int y = 0; y < plane.height_px; ++y) {
      for (int x = 0; x < plane.width_px; ++x) {
        const double mu = cosine_at(limb, x, y);
        if (mu < least_mu) continue;
        const auto value = static_cast<double>(plane.row(y)[x]);
        const double off = law ? std::abs(value - value_of(*law, mu)) : 0;
        if (law) misses.push_back(off);
        if (!law || round == 1 || off <= tolerance) fit.add({1, mu, mu * mu}, value);
      }
    }
    if (!misses.empty()) tolerance = 2.5 * kMadToSigma * upper_median(std::move(misses));
    const auto found = fit.solution();
    if (!found) return law;
    law = found;
  }
  return law;
}

}  // namespace

std::optional<Circle> find_limb(PlaneView picture) {
  std::vector<float> values;
  for (int y = 0; y < picture.height_px; ++y)
    values.insert(values.end(), picture.row(y), picture.row(y) + picture.width_px);
  const auto level = edge_level(values);
  if (!level) return std::nullopt;
  const auto fit = fit_circle(level_crossings(picture, *level));
  if (!fit || fit->kept < kKeptShare || fit->worst_px > kWorstFitPx) return std::nullopt;
  return fit->circle;
}

std::optional<LimbLaw> limb_law(PlaneView channel, const Circle& limb) {
  const auto law = law_of(channel, limb);
  if (!law) return std::nullopt;
  LimbLaw out{*law};
  for (int y = 0; y < channel.height_px; ++y) {
    for (int x = 0; x < channel.width_px; ++x)
      out.brightest = std::max(out.brightest, value_of(*law, cosine_at(limb, x, y)));
  }
  return out;
}

void divide_by(Plane& channel, const Circle& limb, const LimbLaw& law) {
  if (!(law.brightest > 0)) return;
  parallel_for(channel.height(), [&](std::int64_t row) {
    const int y = static_cast<int>(row);
    for (int x = 0; x < channel.width(); ++x) {
      const double share = value_of(law.terms, cosine_at(limb, x, y)) / law.brightest;
      channel.row(y)[x] /= static_cast<float>(std::max(share, kLeastFactor));
    }
  });
}

void flatten_limb(std::vector<Plane>& picture, const Circle& limb) {
  for (Plane& plane : picture) {
    if (const auto law = limb_law(plane.view(), limb)) divide_by(plane, limb, *law);
  }
}

}  // namespace lull::finish
