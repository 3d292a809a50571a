#include "judge/artifacts.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "core/statistics.h"
#include "judge/measures.h"
#include "judge/transforms.h"

namespace lull::judge {

namespace {

constexpr double kStrongShare = 0.95;
constexpr double kEdgeSigmaPx = 1;
constexpr double kCoarseShare = 2;
constexpr int kSegmentPx = 32;
constexpr std::size_t kNeighbours = 12;
constexpr std::size_t kOwnReachPx = 2;
constexpr double kOwnShare = 0.25;
constexpr int kRimPx = 10;  // the matching filter mirrors the picture there
constexpr double kDeviations = 4;

Image transposed(const Image& image) {
  Image result(image.height_px, image.width_px);
  for (int y = 0; y < image.height_px; ++y) {
    for (int x = 0; x < image.width_px; ++x) result.at(y, x) = image.at(x, y);
  }
  return result;
}

using Chooser = std::function<const double&(const double&, const double&)>;

Image extreme_along_rows(const Image& image, int reach_px, const Chooser& choose) {
  Image result = image;
  for (int y = 0; y < image.height_px; ++y) {
    for (int x = 0; x < image.width_px; ++x) {
      const int last = std::min(x + reach_px, image.width_px - 1);
      for (int i = std::max(x - reach_px, 0); i <= last; ++i) {
        result.at(x, y) = choose(result.at(x, y), image.at(i, y));
      }
    }
  }
  return result;
}

/// Highest or lowest sample in the square of 2 reach + 1 px around each.
Image local_extreme(const Image& image, int reach_px, const Chooser& choose) {
  const Image rows = extreme_along_rows(image, reach_px, choose);
  return transposed(extreme_along_rows(transposed(rows), reach_px, choose));
}

Image local_highest(const Image& image, int reach_px) {
  return local_extreme(image, reach_px, [](const double& a, const double& b) -> const double& {
    return std::max(a, b);
  });
}

Image local_lowest(const Image& image, int reach_px) {
  return local_extreme(image, reach_px, [](const double& a, const double& b) -> const double& {
    return std::min(a, b);
  });
}

/// 1 within reach of a strong edge, 0 elsewhere.
Image edge_band(const Image& truth, int reach_px) {
  const Gradient slopes = gradient_of(gaussian_blur(truth, kEdgeSigmaPx));
  Image slope(truth.size());
  for (std::size_t i = 0; i < slope.count(); ++i) {
    slope.samples[i] = std::hypot(slopes.x.samples[i], slopes.y.samples[i]);
  }
  const double strong = quantile(slope.samples, kStrongShare);
  for (double& sample : slope.samples) sample = sample > strong ? 1 : 0;
  return local_highest(slope, reach_px);
}

/// Magnitudes of the steps between neighbouring columns, averaged over kSegmentPx rows.
std::vector<double> steps_of(const Image& image, int top) {
  std::vector<double> steps;
  for (int x = 0; x + 1 < image.width_px; ++x) {
    double sum = 0;
    for (int y = top; y < top + kSegmentPx; ++y) sum += image.at(x + 1, y) - image.at(x, y);
    steps.push_back(std::abs(sum) / kSegmentPx);
  }
  return steps;
}

/// The lines within reach of one, itself included.
std::vector<double> around(const std::vector<double>& steps, std::size_t line, std::size_t reach) {
  const std::size_t first = line - std::min(line, reach);
  const std::size_t last = std::min(line + reach + 1, steps.size());
  return {steps.begin() + static_cast<std::ptrdiff_t>(first),
          steps.begin() + static_cast<std::ptrdiff_t>(last)};
}

/// What an ordinary step may reach there: local median and scatter, and a share of the truth's own.
double allowance(const std::vector<double>& steps, const std::vector<double>& own,
                 std::size_t line) {
  std::vector<double> near = around(steps, line, kNeighbours);
  const double typical = median(near);
  const double sigma = sigma_about(std::move(near), typical);
  const std::vector<double> own_near = around(own, line, kOwnReachPx);
  return typical + kDeviations * sigma +
         kOwnShare * *std::max_element(own_near.begin(), own_near.end());
}

/// Largest excess of steps between columns, over all segments of rows; segments overlap by half.
double largest_step(const Image& residual, const Image& matched) {
  double largest = 0;
  for (int top = 0; top + kSegmentPx <= residual.height_px; top += kSegmentPx / 2) {
    const std::vector<double> steps = steps_of(residual, top);
    const std::vector<double> own = steps_of(matched, top);
    for (std::size_t line = 0; line < steps.size(); ++line) {
      largest = std::max(largest, steps[line] - allowance(steps, own, line));
    }
  }
  return largest;
}

Box without_rim(Size size) {
  return {kRimPx, kRimPx, size.width_px - kRimPx, size.height_px - kRimPx};
}

}  // namespace

double ringing(const Image& truth, const Image& picture, double cutoff) {
  const int reach_px = static_cast<int>(std::ceil(1 / cutoff));
  // Coarse structure fixes the brightness: a fit to all detail would hide half of an overshoot.
  const double coarse_px = kCoarseShare / cutoff;
  const Image fitted = applied(
      fit_linear(gaussian_blur(truth, coarse_px), gaussian_blur(picture, coarse_px)), picture);
  const Image band = edge_band(truth, reach_px);
  const Image highest = local_highest(truth, reach_px);
  const Image lowest = local_lowest(truth, reach_px);
  double over = 0;
  double contrast = 0;
  for (std::size_t i = 0; i < truth.count(); ++i) {
    const double value = fitted.samples[i];
    over += band.samples[i] *
            (std::max(value - highest.samples[i], 0.0) + std::max(lowest.samples[i] - value, 0.0));
    contrast += band.samples[i] * (highest.samples[i] - lowest.samples[i]);
  }
  return contrast > 0 ? over / contrast : 0;
}

double seams(const Image& matched, const Image& picture, double peak) {
  const Box box = without_rim(picture.size());
  if (box.width_px() < kSegmentPx || box.height_px() < kSegmentPx) return 0;
  const Image own = crop(matched, box);
  const Image residual = difference(crop(picture, box), own);
  const double columns = largest_step(residual, own);
  const double rows = largest_step(transposed(residual), transposed(own));
  return std::max(columns, rows) / std::max(std::abs(peak), 1e-300);
}

EdgeError edge_error(const Image& truth, const Image& picture) {
  constexpr int kOuterPx = 8;
  constexpr int kInsidePx = 16;
  const Box whole = {0, 0, picture.width_px, picture.height_px};
  const auto without = [&](int px) { return Box{px, px, whole.x1 - px, whole.y1 - px}; };
  const Box inside = without(kInsidePx);
  if (inside.empty()) return {};
  const LinearFit fit = fit_linear(crop(truth, inside), crop(picture, inside));
  const Image fitted = applied(fit, picture);
  const Image error = difference(fitted, truth);
  const Image squares = product(error, error);
  const auto sum_of = [](const Image& image) {
    return mean(image) * static_cast<double>(image.count());
  };
  const Image within = crop(squares, without(kOuterPx));
  const double outer = std::max(sum_of(squares) - sum_of(within), 0.0) /
                       static_cast<double>(squares.count() - within.count());
  const Range range = range_of(truth);
  const double peak = range.highest - std::min(range.lowest, 0.0);
  return {std::sqrt(outer) / peak, std::sqrt(mean(crop(squares, inside))) / peak};
}

}  // namespace lull::judge
