#include "survey/field_rotation.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>

#include "core/statistics.h"

namespace lull::survey {

namespace {

constexpr int kBlocksOfEach = 16;  // measured one by one; of later ones every fourth
constexpr int kEvery = 4;
constexpr std::size_t kMeanOf = 4;  // frames of a block
constexpr int kSide = 128;          // most pixels of a side that are compared
constexpr int kSteps = 12;
constexpr double kMostTurn = 0.1;    // radians, of one step
constexpr double kMostShift = 2;     // px
constexpr double kLeastTurn = 1e-5;  // radians: the last step
constexpr double kCorrelated = 9;    // pixels: what blur and distortion leave is not independent
constexpr double kLeastAgreement = 0.6;
constexpr double kMostSigma = 0.005;  // radians
constexpr double kRadiansPerDegree = std::numbers::pi / 180;
constexpr double kSearchedDegrees = 16;
constexpr double kSearchStepDegrees = 2;
constexpr double kLeastDegrees = 1;  // less does no harm, but in a large frame:
constexpr double kLeastCornerPx = 4;
constexpr double kScatters = 5;
constexpr std::size_t kFewestAngles = 3;
constexpr double kFollowedPx = 12;
constexpr double kPartPx = 8;  // of movement, well within that
constexpr std::size_t kFewestOnCurve = 5;
constexpr double kLeastCovered = 0.7;  // of the capture, by what was measured
constexpr double kMostRough = 0.1;     // rms beside the curve, of the whole turn

float bilinear(PlaneView plane, double x, double y) {
  const int x0 = static_cast<int>(x);
  const int y0 = static_cast<int>(y);
  const auto fx = static_cast<float>(x - x0);
  const auto fy = static_cast<float>(y - y0);
  const float* upper = plane.row(y0) + x0;
  const float* lower = plane.row(y0 + 1) + x0;
  return (1 - fy) * ((1 - fx) * upper[0] + fx * upper[1]) +
         fy * ((1 - fx) * lower[0] + fx * lower[1]);
}

bool inside(PlaneView plane, double x, double y) {
  return x >= 0 && y >= 0 && x < plane.width_px - 1 && y < plane.height_px - 1;
}

// Every `step`th pixel, mean of the frames at their places; negative: outside of one of them.
Plane mean_at(const std::vector<PlaneView>& planes, const std::vector<FrameOffset>& at, int step) {
  const Size size = planes.front().size();
  Plane mean(size.width_px / step, size.height_px / step);
  for (int y = 0; y < mean.height(); ++y) {
    float* row = mean.row(y);
    for (int x = 0; x < mean.width(); ++x) {
      float sum = 0;
      for (std::size_t i = 0; i < planes.size() && sum >= 0; ++i) {
        const double px = step * x + 0.5 * (step - 1) + at[i].x_px;
        const double py = step * y + 0.5 * (step - 1) + at[i].y_px;
        sum = inside(planes[i], px, py) ? sum + std::max(bilinear(planes[i], px, py), 0.0F) : -1;
      }
      row[x] = sum < 0 ? -1 : sum / static_cast<float>(planes.size());
    }
  }
  return mean;
}

int step_of(Size size) { return (std::max(size.width_px, size.height_px) + kSide - 1) / kSide; }

// Solves the symmetric 3 x 3 system by Cramer's rule. @return false if it is singular.
bool solve(const std::array<double, 6>& a, const std::array<double, 3>& b, std::array<double, 3>& x,
           double& last_variance) {
  const auto [xx, xy, xz, yy, yz, zz] = a;
  const double c0 = yy * zz - yz * yz;
  const double c1 = xz * yz - xy * zz;
  const double c2 = xy * yz - xz * yy;
  const double determinant = xx * c0 + xy * c1 + xz * c2;
  if (!(std::abs(determinant) > 1e-12 * xx * yy * zz)) return false;
  const double d11 = xx * zz - xz * xz;
  const double d12 = xy * xz - xx * yz;
  const double d22 = xx * yy - xy * xy;
  x = {(c0 * b[0] + c1 * b[1] + c2 * b[2]) / determinant,
       (c1 * b[0] + d11 * b[1] + d12 * b[2]) / determinant,
       (c2 * b[0] + d12 * b[1] + d22 * b[2]) / determinant};
  last_variance = d22 / determinant;
  return true;
}

// A pixel of the first mean and the place in another that it is compared with.
struct Pair {
  double here;
  double there;
  double gradient_x;
  double gradient_y;
  double turn;  // by how much the value changes with the angle
};

std::vector<Pair> pairs_of(PlaneView first, PlaneView mean, double angle,
                           const Displacement& shift) {
  const double centre_x = 0.5 * (first.width_px - 1);
  const double centre_y = 0.5 * (first.height_px - 1);
  const double cosine = std::cos(angle);
  const double sine = std::sin(angle);
  std::vector<Pair> pairs;
  for (int y = 1; y + 1 < first.height_px; ++y) {
    const float* row = first.row(y);
    for (int x = 1; x + 1 < first.width_px; ++x) {
      const float up = first.row(y - 1)[x];
      const float down = first.row(y + 1)[x];
      if (std::min({row[x - 1], row[x], row[x + 1], up, down}) < 0) continue;
      const double dx = x - centre_x;
      const double dy = y - centre_y;
      const double at_x = centre_x + cosine * dx - sine * dy + shift.x_px;
      const double at_y = centre_y + sine * dx + cosine * dy + shift.y_px;
      if (!inside(mean, at_x, at_y)) continue;
      const float* other = mean.row(static_cast<int>(at_y)) + static_cast<int>(at_x);
      const float* below = mean.row(static_cast<int>(at_y) + 1) + static_cast<int>(at_x);
      if (std::min({other[0], other[1], below[0], below[1]}) < 0) continue;
      const double gradient_x = 0.5 * static_cast<double>(row[x + 1] - row[x - 1]);
      const double gradient_y = 0.5 * static_cast<double>(down - up);
      pairs.push_back({static_cast<double>(row[x]), static_cast<double>(bilinear(mean, at_x, at_y)),
                       gradient_x, gradient_y, gradient_y * dx - gradient_x * dy});
    }
  }
  return pairs;
}

// A Gauss-Newton step.
struct Step {
  std::array<double, 3> change{};  // shift and angle
  double agreement = 0;            // before it, correlation coefficient
  double sigma = 0;                // of the angle
};

// Contrast and brightness may change between the two.
std::optional<Step> step_from(const std::vector<Pair>& pairs) {
  const auto count = static_cast<double>(pairs.size());
  double mean_here = 0;
  double mean_there = 0;
  for (const Pair& pair : pairs) {
    mean_here += pair.here / count;
    mean_there += pair.there / count;
  }
  double here2 = 0;
  double there2 = 0;
  double both = 0;
  for (const Pair& pair : pairs) {
    const double here = pair.here - mean_here;
    const double there = pair.there - mean_there;
    here2 += here * here;
    there2 += there * there;
    both += here * there;
  }
  if (!(here2 > 0) || !(there2 > 0)) return std::nullopt;
  const double factor = std::sqrt(here2 / there2);
  std::array<double, 6> normal{};
  std::array<double, 3> right{};
  double rest2 = 0;
  for (const Pair& pair : pairs) {
    const double rest = factor * (pair.there - mean_there) - (pair.here - mean_here);
    normal[0] += pair.gradient_x * pair.gradient_x;
    normal[1] += pair.gradient_x * pair.gradient_y;
    normal[2] += pair.gradient_x * pair.turn;
    normal[3] += pair.gradient_y * pair.gradient_y;
    normal[4] += pair.gradient_y * pair.turn;
    normal[5] += pair.turn * pair.turn;
    right[0] += pair.gradient_x * rest;
    right[1] += pair.gradient_y * rest;
    right[2] += pair.turn * rest;
    rest2 += rest * rest;
  }
  Step step;
  step.agreement = both / std::sqrt(here2 * there2);
  double variance = 0;
  if (!solve(normal, right, step.change, variance)) return std::nullopt;
  step.sigma = std::sqrt(kCorrelated * variance * rest2 / count);
  return step;
}

// Radius of the structure, px: how much more a turn changes the picture than a shift does.
double radius_of(PlaneView plane) {
  double turned2 = 0;
  double moved2 = 0;
  for (int y = 1; y + 1 < plane.height_px; ++y) {
    for (int x = 1; x + 1 < plane.width_px; ++x) {
      if (std::min({plane.row(y)[x + 1], plane.row(y)[x - 1], plane.row(y + 1)[x],
                    plane.row(y - 1)[x]}) < 0)
        continue;
      const double gradient_x = static_cast<double>(plane.row(y)[x + 1] - plane.row(y)[x - 1]);
      const double gradient_y = static_cast<double>(plane.row(y + 1)[x] - plane.row(y - 1)[x]);
      const double dx = x - 0.5 * (plane.width_px - 1);
      const double dy = y - 0.5 * (plane.height_px - 1);
      const double power = gradient_x * gradient_x + gradient_y * gradient_y;
      turned2 += power * (dx * dx + dy * dy);
      moved2 += power;
    }
  }
  return moved2 > 0 ? std::sqrt(turned2 / moved2) : 0;
}

double median_of_three(double a, double b, double c) {
  return std::max(std::min(a, b), std::min(std::max(a, b), c));
}

}  // namespace

double TurnCurve::at(FrameIndex index) const {
  const double u = (static_cast<double>(index) - middle) / half_length;
  return u * (coefficients[0] + u * coefficients[1]);
}

double TurnCurve::range() const {
  const auto [slope, bend] = coefficients;
  const double vertex = std::clamp(bend == 0 ? 0.0 : -0.5 * slope / bend, -1.0, 1.0);
  const auto [least, most] =
      std::minmax({bend - slope, bend + slope, vertex * (slope + vertex * bend)});
  return most - least;
}

bool is_far(const FieldTurn& turn) { return turn.moved_px > kFollowedPx; }

std::string field_turn_text(const FieldTurn& turn) {
  if (turn.degrees == 0) return {};
  return fmt::format(
      "the field turns by {:.1f} degrees during the capture, and detail moves by {:.0f} px{}",
      turn.degrees, turn.moved_px,
      is_far(turn) && !turn.curve ? ", unsteadily and more than registration can follow: the stack "
                                    "would be smeared"
                                  : "");
}

std::string advice_on(const FieldTurn& turn, std::int64_t frames) {
  if (turn.curve) {
    return "stack turns the frames back; their corners leave the picture, which a shorter "
           "recording, or a camera that turns with the field, avoids";
  }
  const double parts = std::max(std::ceil(turn.moved_px / kPartPx), 1.0);
  return fmt::format(
      "stack parts of about {:.0f} frames, the first with --frames 0-{:.0f}, or turn the camera "
      "with the field",
      std::floor(static_cast<double>(frames) / parts),
      std::floor(static_cast<double>(frames) / parts) - 1);
}

std::optional<FieldRotation::Turned> FieldRotation::see(const std::vector<PlaneView>& planes,
                                                        const std::vector<FrameOffset>& at,
                                                        const std::vector<FrameIndex>& indices) {
  const bool wanted = blocks_ < kBlocksOfEach || blocks_ % kEvery == 0;
  ++blocks_;
  if (!wanted || planes.empty()) return std::nullopt;
  std::vector<PlaneView> some;
  std::vector<FrameOffset> places;
  double index = 0;
  const std::size_t stride = std::max<std::size_t>(1, planes.size() / kMeanOf);
  for (std::size_t i = 0; i < planes.size() && some.size() < kMeanOf; i += stride) {
    some.push_back(planes[i]);
    places.push_back(at[i]);
    index += static_cast<double>(indices[i]);
  }
  index /= static_cast<double>(some.size());
  step_ = step_of(planes.front().size());
  if (first_.empty()) {
    first_ = mean_at(some, places, step_);
    angles_.push_back({index, 0});
    return Turned{};
  }
  const Plane mean = mean_at(some, places, step_);
  Fit fit = fitted(mean.view(), last_);
  if (fit.agreement < kLeastAgreement) fit = searched(mean.view());
  if (fit.agreement < kLeastAgreement || fit.sigma > kMostSigma) return std::nullopt;
  last_ = fit.angle;
  angles_.push_back({index, fit.angle});
  return Turned{fit.angle, {step_ * fit.shift.x_px, step_ * fit.shift.y_px}};
}

FieldRotation::Fit FieldRotation::searched(PlaneView mean) const {
  Fit best;
  for (int i = 0; i <= static_cast<int>(2 * kSearchedDegrees / kSearchStepDegrees); ++i) {
    const double degrees = kSearchStepDegrees * i - kSearchedDegrees;
    const Fit fit = fitted(mean, degrees * kRadiansPerDegree);
    if (fit.agreement > best.agreement) best = fit;
  }
  return best;
}

FieldRotation::Fit FieldRotation::fitted(PlaneView mean, double start) const {
  Fit fit;
  fit.angle = start;
  for (int step = 0; step < kSteps; ++step) {
    const std::vector<Pair> pairs = pairs_of(first_.view(), mean, fit.angle, fit.shift);
    if (2 * pairs.size() < static_cast<std::size_t>(first_.size().area_px())) return {};
    const std::optional<Step> next = step_from(pairs);
    if (!next) return {};
    fit.agreement = next->agreement;
    fit.sigma = next->sigma;
    fit.shift.x_px -= std::clamp(next->change[0], -kMostShift, kMostShift);
    fit.shift.y_px -= std::clamp(next->change[1], -kMostShift, kMostShift);
    fit.angle -= std::clamp(next->change[2], -kMostTurn, kMostTurn);
    if (std::abs(next->change[2]) < kLeastTurn) break;
  }
  return fit;
}

std::optional<double> FieldRotation::certain_range(int reduction) const {
  if (angles_.size() < kFewestAngles) return std::nullopt;
  std::vector<double> bends;
  double least = angles_.front().angle;
  double most = least;
  for (std::size_t i = 1; i + 1 < angles_.size(); ++i) {
    const double before = angles_[i - 1].angle;
    const double here = angles_[i].angle;
    const double after = angles_[i + 1].angle;
    const double middle = median_of_three(before, here, after);
    least = std::min(least, middle);
    most = std::max(most, middle);
    bends.push_back(std::abs(before - 2 * here + after));
  }
  least = std::min(least, angles_.back().angle);
  most = std::max(most, angles_.back().angle);
  constexpr double kBendSigmas = 2.449;  // of the second difference of independent values: sqrt(6)
  const double scatter = kMadToSigma * upper_median(bends) / kBendSigmas;
  const double corner_px = 0.5 * std::hypot(first_.width(), first_.height()) * reduction * step_;
  const double worth = std::min(kLeastDegrees * kRadiansPerDegree, kLeastCornerPx / corner_px);
  if (most - least < std::max(worth, kScatters * scatter)) return std::nullopt;
  return most - least;
}

FieldTurn FieldRotation::result(int reduction, FrameIndex first, FrameIndex last) const {
  const std::optional<double> certain = certain_range(reduction);
  if (!certain) return {};
  FieldTurn turn;
  turn.curve = curve(first, last, *certain);
  const double range = turn.curve ? turn.curve->range() : *certain;
  turn.degrees = range / kRadiansPerDegree;
  turn.moved_px = range * radius_of(first_.view()) * reduction * step_;
  return turn;
}

// Least squares for a parabola. None where the angles scatter around it, or leave too much of the
// capture open.
std::optional<TurnCurve> FieldRotation::curve(FrameIndex first, FrameIndex last,
                                              double range) const {
  const auto length = static_cast<double>(last - first);
  if (angles_.size() < kFewestOnCurve ||
      angles_.back().index - angles_.front().index < kLeastCovered * length)
    return std::nullopt;
  TurnCurve out{0.5 * static_cast<double>(first + last), 0.5 * length, {}};
  double normal[5] = {};
  std::array<double, 3> right{};
  const auto place = [&out](const AngleAt& at) {
    return (at.index - out.middle) / out.half_length;
  };
  for (const AngleAt& at : angles_) {
    double power = 1;
    for (std::size_t k = 0; k < std::size(normal); ++k, power *= place(at)) {
      normal[k] += power;
      if (k < right.size()) right[k] += power * at.angle;
    }
  }
  std::array<double, 3> fit{};
  double variance = 0;
  if (!solve({normal[0], normal[1], normal[2], normal[2], normal[3], normal[4]}, right, fit,
             variance))
    return std::nullopt;
  double rest2 = 0;
  for (const AngleAt& at : angles_) {
    const double u = place(at);
    const double rest = at.angle - (fit[0] + u * (fit[1] + u * fit[2]));
    rest2 += rest * rest;
  }
  const auto freedom = static_cast<double>(angles_.size() - fit.size());
  if (std::sqrt(rest2 / freedom) > kMostRough * range) return std::nullopt;
  out.coefficients = {fit[1], fit[2]};
  return out;
}

}  // namespace lull::survey
