#include "mosaic/limb_places.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "core/parallel.h"

namespace lull::mosaic {

namespace {

constexpr double kSpacingPx = 16;
constexpr int kReachPx = 24;           // across the limb, to either side
constexpr int kSlopeReachPx = 16;      // of the steepest slope
constexpr int kAlongPx = 16;           // over which a profile is averaged
constexpr double kMarginPx = 8;        // from a panel's edges, where its frames end
constexpr double kSlopeSigmaPx = 2;    // by which a profile is smoothed
constexpr double kMostSkyLight = 0.5;  // outside, of the light inside

constexpr int kSamples = 2 * kReachPx + 1;
using Profile = std::array<double, kSamples>;

// Mean light across the limb, from inside to outside; none where the panel ends.
std::optional<Profile> profile_at(const Readable& panel, const PanelMap& map,
                                  const LimbCurve& curve, double angle_rad) {
  Profile out{};
  for (int along = 0; along < kAlongPx; ++along) {
    const double angle = angle_rad + (along - 0.5 * (kAlongPx - 1)) / curve.circle.radius_px;
    const double radius = curve.radius_px(angle);
    for (int k = 0; k < kSamples; ++k) {
      const double px = radius + k - kReachPx;
      const Displacement at = map.to_panel(
          {curve.circle.x_px + px * std::cos(angle), curve.circle.y_px + px * std::sin(angle)});
      if (!is_inside(panel.size, at, kMarginPx)) return std::nullopt;
      out[static_cast<std::size_t>(k)] +=
          static_cast<double>(panel.luminance.at(at.x_px, at.y_px)) / kAlongPx;
    }
  }
  return out;
}

// How light falls outwards at each sample, smoothed: by the derivative of a Gaussian.
Profile falls_of(const Profile& light) {
  constexpr int kTaps = 6;
  Profile out{};
  for (int k = 0; k < kSamples; ++k) {
    for (int j = -kTaps; j <= kTaps; ++j) {
      const auto at = static_cast<std::size_t>(std::clamp(k + j, 0, kSamples - 1));
      const double t = j / kSlopeSigmaPx;
      out[static_cast<std::size_t>(k)] -= j * std::exp(-0.5 * t * t) * light[at];
    }
  }
  return out;
}

double mean_of(const Profile& light, int from, int to) {
  double sum = 0;
  for (int k = from; k < to; ++k) sum += light[static_cast<std::size_t>(k)];
  return sum / (to - from);
}

// Of the steepest fall, px outside the curve.
std::optional<double> edge_of(const Profile& light) {
  const double inside = mean_of(light, 0, kReachPx / 2);
  const double outside = mean_of(light, kSamples - kReachPx / 2, kSamples);
  if (!(outside < kMostSkyLight * inside)) return std::nullopt;
  const Profile falls = falls_of(light);
  const auto first = falls.begin() + (kReachPx - kSlopeReachPx);
  const auto last = falls.end() - (kReachPx - kSlopeReachPx);
  const auto steepest = std::max_element(first, last);
  if (steepest == first || steepest + 1 == last) return std::nullopt;
  const double before = *(steepest - 1);
  const double after = *(steepest + 1);
  const double bend = 2 * *steepest - before - after;
  if (!(bend > 0)) return std::nullopt;
  return static_cast<double>(steepest - falls.begin()) - kReachPx + 0.5 * (after - before) / bend;
}

}  // namespace

std::vector<Displacement> limb_places(const Readable& panel, const PanelMap& map,
                                      const LimbCurve& curve) {
  const double turn = 2 * std::numbers::pi;
  const auto count =
      std::max<std::int64_t>(1, std::llround(turn * curve.circle.radius_px / kSpacingPx));
  std::vector<std::optional<Displacement>> found(static_cast<std::size_t>(count));
  parallel_for(count, [&](std::int64_t i) {
    const double angle = turn * static_cast<double>(i) / static_cast<double>(count);
    if (!is_inside(panel.size, map.to_panel(curve.at(angle)), kMarginPx)) return;
    const auto profile = profile_at(panel, map, curve, angle);
    if (!profile) return;
    const auto edge = edge_of(*profile);
    if (!edge) return;
    const double radius = curve.radius_px(angle) + *edge;
    found[static_cast<std::size_t>(i)] =
        map.to_panel({curve.circle.x_px + radius * std::cos(angle),
                      curve.circle.y_px + radius * std::sin(angle)});
  });
  std::vector<Displacement> out;
  for (const auto& place : found) {
    if (place) out.push_back(*place);
  }
  return out;
}

}  // namespace lull::mosaic
