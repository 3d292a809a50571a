#include "globe/map_gains.h"

#include <cmath>
#include <opencv2/core.hpp>

#include "core/statistics.h"

namespace lull::globe {

namespace {

constexpr double kPixelsPerDegree = 0.4;
constexpr float kSeenWell = 0.15F;        // of the weight in the middle of a disc
constexpr std::size_t kLeastShared = 40;  // pixels of the coarse map
constexpr double kHold = 1e-6;            // of a pixel: what no overlap tells stays

GlobeMapResult coarse_map(const MapPicture& picture, sky::Body body, double darkening) {
  GlobeMap map(MapGrid(MapProjection::cylindrical, kPixelsPerDegree), body, darkening, 0);
  MapPicture one = picture;
  one.picture.planes.resize(1);
  map.add(one);
  return map.finish();
}

// Logarithm of the first brightness over the second, median over what both show.
struct Ratio {
  double logarithm = 0;
  double pixels = 0;  ///< 0: they share too little
};

Ratio ratio_of(const GlobeMapResult& first, const GlobeMapResult& second) {
  std::vector<double> logarithms;
  const Plane& a = first.planes.front();
  const Plane& b = second.planes.front();
  for (int y = 0; y < a.height(); ++y) {
    for (int x = 0; x < a.width(); ++x) {
      if (std::min(first.weight.row(y)[x], second.weight.row(y)[x]) < kSeenWell) continue;
      const double one = static_cast<double>(a.row(y)[x]);
      const double other = static_cast<double>(b.row(y)[x]);
      if (one > 0 && other > 0) logarithms.push_back(std::log(one / other));
    }
  }
  if (logarithms.size() < kLeastShared) return {};
  const auto pixels = static_cast<double>(logarithms.size());
  return {median(std::move(logarithms)), pixels};
}

}  // namespace

std::vector<double> matched_gains(const std::vector<MapPicture>& pictures, sky::Body body,
                                  double darkening) {
  const std::size_t n = pictures.size();
  std::vector<GlobeMapResult> maps;
  maps.reserve(n);
  for (const MapPicture& picture : pictures) maps.push_back(coarse_map(picture, body, darkening));
  const int count = static_cast<int>(n);
  cv::Mat a = cv::Mat::eye(count, count, CV_64F) * kHold;
  cv::Mat b = cv::Mat::zeros(count, 1, CV_64F);
  for (int i = 0; i < count; ++i) {
    for (int j = 0; j < i; ++j) {
      const Ratio ratio =
          ratio_of(maps[static_cast<std::size_t>(i)], maps[static_cast<std::size_t>(j)]);
      a.at<double>(i, i) += ratio.pixels;
      a.at<double>(j, j) += ratio.pixels;
      a.at<double>(i, j) -= ratio.pixels;
      a.at<double>(j, i) -= ratio.pixels;
      b.at<double>(i) -= ratio.pixels * ratio.logarithm;
      b.at<double>(j) += ratio.pixels * ratio.logarithm;
    }
  }
  cv::Mat logarithms;
  cv::solve(a, b, logarithms, cv::DECOMP_CHOLESKY);  // kHold makes it positive
  std::vector<double> gains;
  gains.reserve(n);
  for (std::size_t i = 0; i < n; ++i)
    gains.push_back(pictures[i].picture.gain *
                    std::exp(logarithms.at<double>(static_cast<int>(i))));
  return gains;
}

}  // namespace lull::globe
