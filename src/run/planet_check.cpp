#include "run/planet_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "core/error.h"
#include "run/stack_header.h"
#include "run/target_plan.h"

namespace lull::run {

namespace {

// Of the misfit of the planet asked for. Measured, bench/QUALITY.md.
constexpr double kClearly = 0.6;
constexpr double kBetter = 0.9;
constexpr std::size_t kTried = 3;  // stacks

// The planet that fits some stacks best, and its misfit and that of the one asked for, rms.
struct Found {
  sky::Body body;
  double best = 0;
  double own = 0;
};

Found shape_of_all(const std::vector<const GlobeStack*>& stacks, sky::Body body,
                   const Turning& turning) {
  std::map<sky::Body, double> squares;
  for (const GlobeStack* stack : stacks) {
    for (const PlanetFit& fit : planet_fits(*stack, body, turning))
      squares[fit.body] += fit.misfit * fit.misfit / static_cast<double>(stacks.size());
  }
  const auto best =
      std::min_element(squares.begin(), squares.end(),
                       [](const auto& a, const auto& b) { return a.second < b.second; });
  return {best->first, std::sqrt(best->second), std::sqrt(squares.at(body))};
}

// "flattened by 6.4%, 99% lit".
std::string shape_text(sky::Body body, Utc moment) {
  const sky::Aspect aspect = aspect_at(body, moment);
  return fmt::format("flattened by {:.1f}%, {:.0f}% lit",
                     100 * (1 - aspect.polar_arcsec / aspect.equatorial_arcsec), 100 * aspect.lit);
}

}  // namespace

std::vector<PlanetFit> planet_fits(const GlobeStack& stack, sky::Body asked,
                                   const Turning& turning) {
  const Plane light = mean_plane(stack.input.picture.view().channels);
  std::vector<PlanetFit> fits;
  for (const sky::Body body : sky::kBodies) {
    if (!is_derotated(body) || (body == sky::Body::saturn && body != asked)) continue;
    const sky::Aspect aspect = aspect_at(body, stack.sight.moment);
    globe::GlobePlace angles = angles_of(turning, aspect);
    if (stack.turned_about) angles.pole_clockwise_rad += 180 * sky::kDegree;
    const auto limb = globe::fit_limb(light.view(), globe::shape_of(body, aspect), angles);
    fits.push_back({body, limb ? limb->misfit : 1});
  }
  std::stable_sort(fits.begin(), fits.end(),
                   [](const auto& a, const auto& b) { return a.misfit < b.misfit; });
  return fits;
}

std::vector<std::string> check_planet(const std::vector<GlobeStack>& stacks, sky::Body body,
                                      const Turning& turning) {
  std::vector<const GlobeStack*> unscaled;
  for (const GlobeStack& stack : stacks) {
    if (!arcsec_per_px(stack.input.cards) && unscaled.size() < kTried) unscaled.push_back(&stack);
  }
  if (unscaled.empty()) return {};
  const GlobeStack& first = *unscaled.front();
  const Found found = shape_of_all(unscaled, body, turning);
  if (found.own > 0 && found.best < kClearly * found.own)
    throw InputError(fmt::format(
        "'{}': the disc has the shape of {} ({}) and not that of {} ({}), or --north is wrong. If "
        "it is {} all the same, state --focal-length and --pixel for the stacks, so that its size "
        "can be checked",
        first.path, sky::body_title(found.body), shape_text(found.body, first.sight.moment),
        sky::body_title(body), shape_text(body, first.sight.moment), sky::body_title(body)));
  std::vector<std::string> notes;
  if (found.best < kBetter * found.own)
    notes.push_back(
        fmt::format("the disc fits {} ({}) better than {} ({}): is the planet right, and north?",
                    sky::body_title(found.body), shape_text(found.body, first.sight.moment),
                    sky::body_title(body), shape_text(body, first.sight.moment)));
  const double arcsec =
      0.5 * first.sight.aspect.equatorial_arcsec / first.sight.limb.place.radius_px;
  notes.push_back(fmt::format(
      "the stacks state no pixel scale (--focal-length, --pixel), so that nothing checks the size "
      "of {} on that date; a pixel is {:.3f} arcsec if all is right",
      sky::body_title(body), arcsec));
  return notes;
}

}  // namespace lull::run
