#include "judge/artifacts.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include "judge/transforms.h"

namespace lull::judge {

namespace {

constexpr double kStrongShare = 0.95;
constexpr double kEdgeSigmaPx = 1;
constexpr int kSegmentPx = 32;
constexpr int kNeighbours = 12;
constexpr double kDeviations = 4;
constexpr double kSigmaOfMad = 1.482602;  // of a Gaussian

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
  std::vector<double> sorted = slope.samples;
  const double strong = quantile(sorted, kStrongShare);
  for (double& sample : slope.samples) sample = sample > strong ? 1 : 0;
  return local_highest(slope, reach_px);
}

/// Excess of one step over the steps of the lines around it.
double excess(const std::vector<double>& steps, int line) {
  const int last = std::min(line + kNeighbours, static_cast<int>(steps.size()) - 1);
  std::vector<double> around;
  for (int i = std::max(line - kNeighbours, 0); i <= last; ++i) {
    if (i != line) around.push_back(steps[static_cast<std::size_t>(i)]);
  }
  const double median = quantile(around, 0.5);
  for (double& step : around) step = std::abs(step - median);
  const double sigma = kSigmaOfMad * quantile(around, 0.5);
  return steps[static_cast<std::size_t>(line)] - median - kDeviations * sigma;
}

/// Largest excess of steps between columns, over all segments of rows; segments overlap by half.
double largest_step(const Image& residual) {
  double largest = 0;
  for (int top = 0; top + kSegmentPx <= residual.height_px; top += kSegmentPx / 2) {
    std::vector<double> steps;
    for (int x = 0; x + 1 < residual.width_px; ++x) {
      double sum = 0;
      for (int y = top; y < top + kSegmentPx; ++y) sum += residual.at(x + 1, y) - residual.at(x, y);
      steps.push_back(std::abs(sum) / kSegmentPx);
    }
    for (int line = 0; line < static_cast<int>(steps.size()); ++line) {
      largest = std::max(largest, excess(steps, line));
    }
  }
  return largest;
}

}  // namespace

double ringing(const Image& truth, const Image& fitted, double cutoff) {
  const int reach_px = static_cast<int>(std::ceil(1.5 / cutoff));
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
  const Image residual = difference(picture, matched);
  return std::max(largest_step(residual), largest_step(transposed(residual))) /
         std::max(std::abs(peak), 1e-300);
}

}  // namespace lull::judge
