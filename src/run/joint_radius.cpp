#include "run/joint_radius.h"

#include <algorithm>
#include <cmath>

#include "core/parallel.h"
#include "core/statistics.h"

namespace lull::run {

namespace {

constexpr double kOtherScale = 0.03;  // of the radius

double radius_per_arcsec(const GlobeStack& stack) {
  return stack.sight.limb.place.radius_px / stack.sight.aspect.equatorial_arcsec;
}

double median_of(const std::vector<GlobeStack>& stacks) {
  std::vector<double> values;
  values.reserve(stacks.size());
  for (const GlobeStack& stack : stacks) values.push_back(radius_per_arcsec(stack));
  return upper_median(std::move(values));
}

}  // namespace

void share_radius(std::vector<GlobeStack>& stacks) {
  if (stacks.size() < 2) return;
  const double middle = median_of(stacks);
  std::vector<std::size_t> alike;
  alike.reserve(stacks.size());
  double sum = 0;
  double weights = 0;
  for (std::size_t i = 0; i < stacks.size(); ++i) {
    const double one = radius_per_arcsec(stacks[i]);
    if (std::abs(one / middle - 1) > kOtherScale) continue;
    const globe::LimbFit& limb = stacks[i].sight.limb;
    const double weight = 1 / std::pow(limb.blur_px * std::max(limb.misfit, 1e-4), 2);
    sum += weight * one;
    weights += weight;
    alike.push_back(i);
  }
  parallel_for(static_cast<std::int64_t>(alike.size()), [&](std::int64_t i) {
    GlobeStack& stack = stacks[alike[static_cast<std::size_t>(i)]];
    const Plane brightness = mean_plane(stack.input.picture.view().channels);
    fit_with_radius(stack.sight, brightness.view(),
                    sum / weights * stack.sight.aspect.equatorial_arcsec);
  });
}

}  // namespace lull::run
