#include "judge/mosaic_seams.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "core/normal_equations.h"
#include "core/parallel.h"
#include "core/statistics.h"
#include "judge/image.h"
#include "judge/mosaic_pose.h"
#include "judge/transforms.h"

namespace lull::judge {

namespace {

constexpr int kSquarePx = 4;
constexpr double kSmoothPx = 6;
constexpr int kLinesPx = 16;      // from line to line, where any place may have a step
constexpr int kHalfPiecePx = 80;  // along the line; places count less towards its ends
constexpr int kNearPx = 6;        // from the line: what smoothing has mixed is left out
constexpr int kFarPx = 64;
constexpr double kLeastLight = 0.05;
constexpr double kSky = 0.02;

struct LightAt {
  double wanted = 0;
  double bend = 0;
  double rise_x = 0;
  double rise_y = 0;
  double seen = 0;
};

// Between the squares; none where the mosaic shows nothing.
std::optional<LightAt> light_at(const SmoothLight& light, double x_px, double y_px) {
  const double u = (x_px + 0.5) / kSquarePx - 0.5;
  const double v = (y_px + 0.5) / kSquarePx - 0.5;
  const int i = static_cast<int>(std::floor(u));
  const int j = static_cast<int>(std::floor(v));
  if (i < 0 || j < 0 || i + 1 >= light.wanted.width() || j + 1 >= light.wanted.height())
    return std::nullopt;
  if (light.covered.row(j)[i] < 1) return std::nullopt;
  const auto mix = [&](const Plane& plane) {
    const float* upper = plane.row(j) + i;
    const float* lower = plane.row(j + 1) + i;
    const auto along = [](double a, double b, double t) { return a + t * (b - a); };
    return along(along(static_cast<double>(upper[0]), static_cast<double>(upper[1]), u - i),
                 along(static_cast<double>(lower[0]), static_cast<double>(lower[1]), u - i), v - j);
  };
  return LightAt{mix(light.wanted), mix(light.bend), mix(light.rise_x), mix(light.rise_y),
                 mix(light.seen)};
}

Image laplacian(const Image& image) {
  Image out(image.size());
  for (int y = 1; y + 1 < image.height_px; ++y) {
    for (int x = 1; x + 1 < image.width_px; ++x) {
      out.at(x, y) = image.at(x - 1, y) + image.at(x + 1, y) + image.at(x, y - 1) +
                     image.at(x, y + 1) - 4 * image.at(x, y);
    }
  }
  return out;
}

// 1 in the middle of a span, falling smoothly to 0 at its ends.
double bump(double at, double half) {
  const double c = std::cos(0.5 * std::numbers::pi * at / half);
  return c * c;
}

struct Step {
  double level = 0;  ///< percent
  double slope = 0;  ///< percent in 100 px
};

// Light on one side of the border, at distances up to kFarPx.
class Side {
 public:
  // @param sky  keeps places without light from counting without bound.
  void add(double t_px, const LightAt& here, double share, double sky) {
    light_ += share * here.wanted;
    equations_.add({here.wanted, here.wanted * t_px / kFarPx, here.bend, here.rise_x, here.rise_y},
                   here.seen, share / (std::max(here.wanted, 0.0) + sky));
  }

  [[nodiscard]] double light() const { return light_; }

  struct Line {
    double at_border = 0;
    double slope = 0;  ///< a px
  };

  [[nodiscard]] std::optional<Line> line() const {
    const auto solved = equations_.solution();
    if (!solved) return std::nullopt;
    return Line{(*solved)[0], (*solved)[1] / kFarPx};
  }

 private:
  double light_ = 0;
  NormalEquations<5> equations_;
};

// Across the line through (x, y) in a direction of unit length.
std::optional<Step> step_across(const SmoothLight& light, double x, double y, double dx,
                                double dy) {
  Side left;
  Side right;
  double most = 0;  // light of a side if all of it were bright
  for (int along = -kHalfPiecePx; along <= kHalfPiecePx; along += kSquarePx) {
    for (int t = kNearPx; t <= kFarPx; t += 2) {
      const double share = bump(along, kHalfPiecePx) * bump(t - kNearPx, kFarPx - kNearPx);
      most += share * light.brightest;
      for (const int side : {-1, 1}) {
        const double off = side * t;
        const auto here = light_at(light, x + along * dx - off * dy, y + along * dy + off * dx);
        if (!here) return std::nullopt;
        (side < 0 ? left : right).add(off, *here, share, kSky * light.brightest);
      }
    }
  }
  if (std::min(left.light(), right.light()) < kLeastLight * most) return std::nullopt;
  const auto before = left.line();
  const auto after = right.line();
  if (!before || !after) return std::nullopt;
  const double level = (before->at_border + after->at_border) / 2;
  return Step{100 * (after->at_border - before->at_border) / level,
              1e4 * (after->slope - before->slope) / level};
}

Steps summed(const std::vector<Step>& all) {
  Steps out;
  out.pieces = static_cast<int>(all.size());
  std::vector<double> levels;
  levels.reserve(all.size());
  for (const Step& one : all) {
    out.level_rms += one.level * one.level;
    out.slope_rms += one.slope * one.slope;
    out.slope_worst = std::max(out.slope_worst, std::abs(one.slope));
    levels.push_back(std::abs(one.level));
    out.level_worst = std::max(out.level_worst, levels.back());
  }
  const double count = std::max(static_cast<double>(all.size()), 1.0);
  out.level_rms = std::sqrt(out.level_rms / count);
  out.slope_rms = std::sqrt(out.slope_rms / count);
  out.level_p99 = quantile(levels, 0.99);
  return out;
}

}  // namespace

SmoothLight smooth_light(PlaneView scene, PlaneView fitted, PlaneView covered) {
  const auto smooth = [](PlaneView plane) {
    return gaussian_blur(image_of(mean_of_squares(plane, kSquarePx).view()), kSmoothPx / kSquarePx);
  };
  const Image wanted = smooth(scene);
  const Image seen = smooth(fitted);
  const Image known = smooth(covered);
  const Image bend = laplacian(wanted);
  const Gradient rise = gradient_of(wanted);
  const Size size = wanted.size();
  SmoothLight light{Plane(size),
                    Plane(size),
                    Plane(size),
                    Plane(size),
                    Plane(size),
                    Plane(size),
                    range_of(wanted).highest};
  for (int y = 0; y < wanted.height_px; ++y) {
    for (int x = 0; x < wanted.width_px; ++x) {
      light.wanted.row(y)[x] = static_cast<float>(wanted.at(x, y));
      light.bend.row(y)[x] = static_cast<float>(bend.at(x, y));
      light.rise_x.row(y)[x] = static_cast<float>(rise.x.at(x, y));
      light.rise_y.row(y)[x] = static_cast<float>(rise.y.at(x, y));
      light.seen.row(y)[x] = static_cast<float>(seen.at(x, y));
      light.covered.row(y)[x] = known.at(x, y) < 0.9999 ? 0.0F : 1.0F;
    }
  }
  return light;
}

Steps steps_at_borders(const SmoothLight& light, const MosaicTruth& truth) {
  std::vector<Step> all;
  for (const MosaicTruth::Panel& panel : truth.panels) {
    const std::size_t count = panel.border.size();
    for (std::size_t i = 0; i < count; ++i) {
      const Displacement& at = panel.border[i];
      const Displacement way = panel.border[(i + 1) % count] - at;
      const double length = std::hypot(way.x_px, way.y_px);
      if (length <= 0) continue;
      const auto step = step_across(light, at.x_px, at.y_px, way.x_px / length, way.y_px / length);
      if (step) all.push_back(*step);
    }
  }
  return summed(all);
}

Steps steps_anywhere(const SmoothLight& light) {
  const Size size{light.wanted.width() * kSquarePx, light.wanted.height() * kSquarePx};
  // Pieces along rows, then pieces down columns.
  const auto lines = [](int side) { return side / kLinesPx; };
  std::vector<std::vector<Step>> found(
      static_cast<std::size_t>(lines(size.height_px) + lines(size.width_px)));
  parallel_for(static_cast<std::int64_t>(found.size()), [&](std::int64_t number) {
    const int line = static_cast<int>(number);
    const bool down = line >= lines(size.height_px);
    const int at = kLinesPx * (down ? line - lines(size.height_px) : line);
    for (int along = kHalfPiecePx; along < (down ? size.height_px : size.width_px);
         along += kHalfPiecePx) {
      const auto step =
          down ? step_across(light, at, along, 0, 1) : step_across(light, along, at, 1, 0);
      if (step) found[static_cast<std::size_t>(number)].push_back(*step);
    }
  });
  std::vector<Step> all;
  for (const auto& line : found) all.insert(all.end(), line.begin(), line.end());
  return summed(all);
}

}  // namespace lull::judge
