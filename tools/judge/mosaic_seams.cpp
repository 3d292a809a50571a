#include "judge/mosaic_seams.h"

#include <algorithm>
#include <array>
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
constexpr int kLinesPx = 16;  // from line to line, where any place may have a step
// Standard deviation of all that smooths: the Gaussian, squares, and reading between these.
const double kMixedPx = std::hypot(kSmoothPx, kSquarePx / 2.0);
constexpr int kHalfPiecePx = 80;  // along the line; places count less towards its ends
constexpr int kNearPx = 6;        // from the line: a border may be a little wide
constexpr int kFarPx = 64;
constexpr int kBesidePx = kFarPx + kNearPx + 2;
constexpr double kLeastSure = 0.5;  // of how surely a step is told on even ground
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

// Light on both sides of a border, at distances up to kFarPx.
class Sides {
 public:
  // @param off_px  from the border, below 0 on the left. @param sky  keeps places without light
  // from counting without bound.
  void add(double off_px, const LightAt& here, double share, double sky) {
    const double sign = off_px < 0 ? -1 : 1;
    const double weight = share / (std::max(here.wanted, 0.0) + sky);
    // Smoothing has mixed both sides.
    const double right = 0.5 * std::erfc(-off_px / (std::numbers::sqrt2 * kMixedPx));
    Equations::Row row{};
    row[kLeft] = (1 - right) * here.wanted;
    row[kLeft + 1] = row[kLeft] * off_px / kFarPx;
    row[kRight] = right * here.wanted;
    row[kRight + 1] = row[kRight] * off_px / kFarPx;
    const std::array<double, kTerms> terms = {here.bend, here.rise_x, here.rise_y};
    for (std::size_t i = 0; i < kTerms; ++i) {
      row[kShared + i] = terms[i];
      row[kOwn + i] = sign * terms[i];
      squares_[i] += weight * terms[i] * terms[i];
    }
    equations_.add(row, here.seen, weight);
    light_[off_px < 0 ? 0 : 1] += share * here.wanted;
    shares_[off_px < 0 ? 0 : 1] += share;
    square_ += weight * here.wanted * here.wanted;
  }

  [[nodiscard]] double least_light() const {
    return std::min(light_[0] / shares_[0], light_[1] / shares_[1]);
  }

  struct Found {
    Step step;
    double surely = 0;  ///< error of a step on even ground of that light over that here
  };

  // @param even  variance of a step on even ground of a light of 1. @param sky  as before.
  [[nodiscard]] std::optional<Found> found(double even, double sky) const {
    Equations equations = equations_;
    for (std::size_t i = 0; i < kTerms; ++i) {
      hold_back(kShared + i, kLeastHeld * square_, equations);
      hold_back(kOwn + i, kHeldBack * squares_[i] + kLeastHeld * square_, equations);
    }
    const auto solved = equations.solution();
    if (!solved) return std::nullopt;
    const Equations::Row& x = *solved;
    const double level = (x[kLeft] + x[kRight]) / 2;
    const double step = x[kRight] - x[kLeft];
    // How far a step of one more, given the weight of even ground, draws the solution tells its
    // variance (Sherman & Morrison's formula).
    Equations::Row row{};
    row[kRight] = 1;
    row[kLeft] = -1;
    const double light = (light_[0] + light_[1]) / (shares_[0] + shares_[1]);
    const double usual = even * (light + sky) / (light * light);
    equations.add(row, step + 1, 1 / usual);
    const auto drawn = equations.solution();
    if (!drawn) return std::nullopt;
    const double by = (*drawn)[kRight] - (*drawn)[kLeft] - step;
    const double variance = by / std::max(1 - by, 1e-12);  // of the usual one
    return Found{{100 * step / level, 1e4 / kFarPx * (x[kRight + 1] - x[kLeft + 1]) / level},
                 1 / std::sqrt(std::max(variance, 1e-12))};
  }

 private:
  static constexpr std::size_t kLeft = 0;  // level and slope of a side
  static constexpr std::size_t kRight = 2;
  static constexpr std::size_t kShared = 4;  // blur and displacement of both sides
  static constexpr std::size_t kTerms = 3;
  static constexpr std::size_t kOwn = kShared + kTerms;  // and by what a side differs
  static constexpr double kHeldBack = 0.3;               // of what the light tells of it
  static constexpr double kLeastHeld = 1e-7;             // of the light: even ground tells nothing
  using Equations = NormalEquations<kOwn + kTerms>;

  static void hold_back(std::size_t unknown, double weight, Equations& equations) {
    Equations::Row row{};
    row[unknown] = 1;
    equations.add(row, 0, weight);
  }

  Equations equations_;
  std::array<double, kTerms> squares_{};
  double square_ = 0;
  std::array<double, 2> light_{};  // of each side
  std::array<double, 2> shares_{};
};

// Weight of a place so far along the border and from it.
double share_at(int along_px, int off_px) {
  return bump(along_px, kHalfPiecePx) * bump(off_px - kNearPx, kFarPx - kNearPx);
}

// Calls body(along, off) for all places of a piece.
template <class Body>
void for_places(const Body& body) {
  for (int along = -kHalfPiecePx; along <= kHalfPiecePx; along += kSquarePx) {
    for (int t = kNearPx; t <= kFarPx; t += 2) {
      body(along, -t);
      body(along, t);
    }
  }
}

// Variance of a step on even ground of a light of 1 without sky, for errors of 1 of each sample.
double even_variance() {
  Sides sides;
  for_places([&](int along, int off) {
    sides.add(off, {1, 0, 0, 0, 1}, share_at(along, std::abs(off)), 0);
  });
  return std::pow(sides.found(1, 0).value_or(Sides::Found{{}, 1}).surely, -2);
}

struct Pieces {
  std::vector<Step> told;
  int not_told = 0;
};

// Across the line through (x, y) in a direction of unit length.
void measure(const SmoothLight& light, double x, double y, double dx, double dy, Pieces& out) {
  static const double even = even_variance();
  const double sky = kSky * light.brightest;
  Sides sides;
  bool all_there = true;
  for_places([&](int along, int off) {
    const auto here = light_at(light, x + along * dx - off * dy, y + along * dy + off * dx);
    all_there = all_there && here;
    if (all_there) sides.add(off, *here, share_at(along, std::abs(off)), sky);
  });
  if (!all_there) return;
  if (sides.least_light() < kLeastLight * light.brightest) return;
  const auto found = sides.found(even, sky);
  if (found && found->surely > kLeastSure) {
    out.told.push_back(found->step);
  } else {
    ++out.not_told;
  }
}

Steps summed(const Pieces& pieces) {
  const std::vector<Step>& all = pieces.told;
  Steps out;
  out.not_told = pieces.not_told;
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

Pieces together(const std::vector<Pieces>& parts) {
  Pieces all;
  for (const Pieces& part : parts) {
    all.told.insert(all.told.end(), part.told.begin(), part.told.end());
    all.not_told += part.not_told;
  }
  return all;
}

// Of all panels, along lines at these distances from their borders.
Steps along_borders(const SmoothLight& light, const MosaicTruth& truth,
                    const std::vector<int>& apart_px) {
  std::vector<Pieces> found(truth.panels.size());
  parallel_for(std::ssize(found), [&](std::int64_t number) {
    const auto panel = static_cast<std::size_t>(number);
    const std::vector<Displacement>& border = truth.panels[panel].border;
    for (std::size_t i = 0; i < border.size(); ++i) {
      const Displacement& at = border[i];
      const Displacement way = border[(i + 1) % border.size()] - at;
      const double length = std::hypot(way.x_px, way.y_px);
      if (length <= 0) continue;
      const double dx = way.x_px / length;
      const double dy = way.y_px / length;
      for (const int apart : apart_px)
        measure(light, at.x_px - apart * dy, at.y_px + apart * dx, dx, dy, found[panel]);
    }
  });
  return summed(together(found));
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
  return along_borders(light, truth, {0});
}

Steps steps_beside_borders(const SmoothLight& light, const MosaicTruth& truth) {
  return along_borders(light, truth, {-kBesidePx, kBesidePx});
}

Steps steps_anywhere(const SmoothLight& light) {
  const Size size{light.wanted.width() * kSquarePx, light.wanted.height() * kSquarePx};
  // Pieces along rows, then pieces down columns.
  const auto lines = [](int side) { return side / kLinesPx; };
  std::vector<Pieces> found(static_cast<std::size_t>(lines(size.height_px) + lines(size.width_px)));
  parallel_for(static_cast<std::int64_t>(found.size()), [&](std::int64_t number) {
    const int line = static_cast<int>(number);
    const bool down = line >= lines(size.height_px);
    const int at = kLinesPx * (down ? line - lines(size.height_px) : line);
    Pieces& own = found[static_cast<std::size_t>(number)];
    for (int along = kHalfPiecePx; along < (down ? size.height_px : size.width_px);
         along += kHalfPiecePx) {
      if (down)
        measure(light, at, along, 0, 1, own);
      else
        measure(light, along, at, 1, 0, own);
    }
  });
  return summed(together(found));
}

}  // namespace lull::judge
