#include "mosaic/find_links.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <opencv2/calib3d.hpp>
#include <opencv2/features2d.hpp>
#include <opencv2/flann.hpp>
#include <utility>

#include "core/parallel.h"
#include "merge/detail.h"

namespace lull::mosaic {

namespace {

constexpr int kFeatures = 900;  // of a sketch at most, the strongest
constexpr double kFinePx = 0.7;
constexpr double kCoarsePx = 10;
constexpr double kGrayLevels = 45;       // of one standard deviation of local contrast
constexpr float kContrastFloor = 0.02F;  // of the sketch's own rms contrast: below it is noise
constexpr int kNearest = 5;              // of all panels together
constexpr int kTreeChecks = 96;
constexpr float kDistinct = 0.85F;  // of the distance to the first one that is of another panel
constexpr double kAgreePx = 3;      // of a sketch
constexpr int kTries = 4000;
constexpr double kConfidence = 0.999;
constexpr std::size_t kLeastMatches = 8;
constexpr int kSeed = 1;

struct Features {
  std::vector<cv::KeyPoint> points;
  cv::Mat descriptors;
};

// Local contrast in units of its own spread nearby, as 8 bits.
cv::Mat pattern_of(const Plane& sketch) {
  Plane detail = merge::detail_of(sketch.view(), kFinePx, kCoarsePx);
  Plane square(detail.size());
  double sum = 0;
  for (int y = 0; y < square.height(); ++y) {
    for (int x = 0; x < square.width(); ++x) {
      square.row(y)[x] = detail.row(y)[x] * detail.row(y)[x];
      sum += static_cast<double>(square.row(y)[x]);
    }
  }
  const auto mean = static_cast<float>(sum / static_cast<double>(square.size().area_px()));
  const Plane spread = merge::blurred(square.view(), 2 * kCoarsePx);
  cv::Mat out(detail.height(), detail.width(), CV_8U);
  for (int y = 0; y < detail.height(); ++y) {
    for (int x = 0; x < detail.width(); ++x) {
      const float local =
          std::sqrt(std::max(spread.row(y)[x], 0.0F) + kContrastFloor * mean + 1e-30F);
      out.at<std::uint8_t>(y, x) = cv::saturate_cast<std::uint8_t>(
          128 + kGrayLevels * static_cast<double>(detail.row(y)[x] / local));
    }
  }
  return out;
}

Features features_of(const Sketch& sketch) {
  Features out;
  const cv::Ptr<cv::SIFT> finder = cv::SIFT::create(kFeatures);
  finder->detectAndCompute(pattern_of(luminance_of(sketch.light)), cv::noArray(), out.points,
                           out.descriptors);
  return out;
}

// Matched features of two panels: numbers of points.
using Matches = std::vector<std::pair<std::size_t, std::size_t>>;
using Pair = std::pair<PanelIndex, PanelIndex>;

// For each feature its nearest ones in other panels, by one tree over the features of all.
std::map<Pair, Matches> matches_of(const std::vector<Features>& all) {
  std::vector<cv::Mat> parts;
  std::vector<std::pair<PanelIndex, std::size_t>> owner;
  for (PanelIndex panel = 0; panel < all.size(); ++panel) {
    if (all[panel].descriptors.empty()) continue;
    parts.push_back(all[panel].descriptors);
    for (std::size_t i = 0; i < all[panel].points.size(); ++i) owner.emplace_back(panel, i);
  }
  std::map<Pair, Matches> out;
  if (parts.size() < 2) return out;
  cv::Mat table;
  cv::vconcat(parts, table);
  cv::setRNGSeed(kSeed);
  cvflann::seed_random(kSeed);
  cv::flann::Index tree(table, cv::flann::KDTreeIndexParams(4));
  const int count = std::min(kNearest + 1, table.rows);
  cv::Mat found;
  cv::Mat distance;
  tree.knnSearch(table, found, distance, count, cv::flann::SearchParams(kTreeChecks));
  for (int row = 0; row < table.rows; ++row) {
    const auto [panel, point] = owner[static_cast<std::size_t>(row)];
    // The last of them is as near as a chance neighbour: what is clearly nearer counts.
    const float chance = distance.at<float>(row, count - 1);
    for (int k = 0; k < count - 1; ++k) {
      const int at = found.at<int>(row, k);
      if (at < 0 || distance.at<float>(row, k) > kDistinct * kDistinct * chance) continue;
      const auto [other, other_point] = owner[static_cast<std::size_t>(at)];
      if (other == panel) continue;
      if (panel < other)
        out[{panel, other}].emplace_back(point, other_point);
      else
        out[{other, panel}].emplace_back(other_point, point);
    }
  }
  return out;
}

// OpenCV looks for features on a picture enlarged twice, and forgets that the first of its pixels
// lies a quarter of a pixel before the first of the picture: panels on their heads show it.
constexpr double kEnlargedBy = 0.25;

Displacement full_px(const cv::Point2f& point, int side) {
  const auto full = [side](float at) {
    return (static_cast<double>(at) - kEnlargedBy + 0.5) * side - 0.5;
  };
  return {full(point.x), full(point.y)};
}

// The features of a pair that follow one similarity, where these are enough to believe it.
std::vector<Tie> ties_of(const Features& first, const Features& second, int first_side,
                         int second_side, Matches matches) {
  std::sort(matches.begin(), matches.end());
  matches.erase(std::unique(matches.begin(), matches.end()), matches.end());
  if (matches.size() < kLeastMatches) return {};
  std::vector<cv::Point2f> from;
  std::vector<cv::Point2f> to;
  for (const auto& [a, b] : matches) {
    from.push_back(first.points[a].pt);
    to.push_back(second.points[b].pt);
  }
  cv::Mat agrees;
  const cv::Mat map =
      cv::estimateAffinePartial2D(from, to, agrees, cv::RANSAC, kAgreePx, kTries, kConfidence);
  if (map.empty()) return {};
  const auto count = static_cast<std::size_t>(cv::countNonZero(agrees));
  // Brown & Lowe 2007, equation 13: more would be chance once in a million.
  if (static_cast<double>(count) <= 8.0 + 0.3 * static_cast<double>(matches.size())) return {};
  std::vector<Tie> out;
  out.reserve(count);
  const double error_px = std::max(first_side, second_side);
  for (std::size_t i = 0; i < matches.size(); ++i) {
    if (agrees.at<std::uint8_t>(static_cast<int>(i)) == 0) continue;
    out.push_back(
        {full_px(from[i], first_side), full_px(to[i], second_side), 1 / (error_px * error_px)});
  }
  return out;
}

}  // namespace

std::vector<Link> find_links(const std::vector<Sketch>& sketches) {
  cv::setNumThreads(1);  // the loop around it has the threads
  std::vector<Features> all(sketches.size());
  parallel_for(std::ssize(sketches), [&](std::int64_t i) {
    const auto at = static_cast<std::size_t>(i);
    all[at] = features_of(sketches[at]);
  });
  std::vector<Link> out;
  std::vector<Matches> matches;
  for (auto& [pair, of_pair] : matches_of(all)) {
    out.push_back({pair.first, pair.second, {}});
    matches.push_back(std::move(of_pair));
  }
  parallel_for(std::ssize(out), [&](std::int64_t i) {
    const auto at = static_cast<std::size_t>(i);
    Link& link = out[at];
    link.ties = ties_of(all[link.first], all[link.second], sketches[link.first].side,
                        sketches[link.second].side, std::move(matches[at]));
  });
  std::erase_if(out, [](const Link& link) { return link.ties.empty(); });
  return out;
}

}  // namespace lull::mosaic
