#include "globe/map_gains.h"

#include <cmath>

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

// A square of rows with the right side behind each; symmetric and positive, so that no rows need to
// be exchanged (Golub & Van Loan, Matrix Computations, section 4.2, from memory).
std::vector<double> solved(std::vector<std::vector<double>> rows) {
  const std::size_t n = rows.size();
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t j = i + 1; j < n; ++j) {
      const double factor = rows[j][i] / rows[i][i];
      for (std::size_t k = i; k <= n; ++k) rows[j][k] -= factor * rows[i][k];
    }
  }
  std::vector<double> out(n);
  for (std::size_t i = n; i-- > 0;) {
    out[i] = rows[i][n];
    for (std::size_t k = i + 1; k < n; ++k) out[i] -= rows[i][k] * out[k];
    out[i] /= rows[i][i];
  }
  return out;
}

}  // namespace

std::vector<double> matched_gains(const std::vector<MapPicture>& pictures, sky::Body body,
                                  double darkening) {
  const std::size_t n = pictures.size();
  std::vector<GlobeMapResult> maps;
  maps.reserve(n);
  for (const MapPicture& picture : pictures) maps.push_back(coarse_map(picture, body, darkening));
  std::vector<std::vector<double>> rows(n, std::vector<double>(n + 1));
  for (std::size_t i = 0; i < n; ++i) {
    rows[i][i] += kHold;
    for (std::size_t j = 0; j < i; ++j) {
      const Ratio ratio = ratio_of(maps[i], maps[j]);
      rows[i][i] += ratio.pixels;
      rows[j][j] += ratio.pixels;
      rows[i][j] -= ratio.pixels;
      rows[j][i] -= ratio.pixels;
      rows[i][n] -= ratio.pixels * ratio.logarithm;
      rows[j][n] += ratio.pixels * ratio.logarithm;
    }
  }
  const std::vector<double> logarithms = solved(std::move(rows));
  std::vector<double> gains;
  gains.reserve(n);
  for (std::size_t i = 0; i < n; ++i)
    gains.push_back(pictures[i].picture.gain * std::exp(logarithms[i]));
  return gains;
}

}  // namespace lull::globe
