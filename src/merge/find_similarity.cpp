#include "merge/find_similarity.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <utility>
#include <vector>

#include "align/spline_plane.h"
#include "core/normal_equations.h"
#include "core/parallel.h"
#include "core/reduced.h"
#include "core/statistics.h"
#include "merge/detail.h"

namespace lull::merge {

namespace {

constexpr int kLeastSide = 32;
constexpr double kFinePx = 1.2;  // of the detail, px of a level
constexpr double kCoarsePx = 8;
constexpr int kEdgePx = 16;  // that far a blur sees what lies beyond the edge
constexpr int kLeastEdgePx = 2;
constexpr int kEdgeShare = 8;       // of a side at most, one part in so many
constexpr double kLeastSeen = 0.5;  // of the smaller one
constexpr int kMostSteps = 15;
constexpr double kStillPx = 1e-3;
constexpr double kLongestStepPx = 2;
constexpr double kDoubtful = 2.4;  // residuals over their spread, whose weight is half

// What is solved for: change of place in four ways, and how the picture's values become those of
// the reference: contrast, level, blur.
constexpr std::size_t kUnknowns = 7;
constexpr std::size_t kScale = 2;
using Normal = NormalEquations<kUnknowns>;
using Row = Normal::Row;

int edge_of(Size size) {
  const int part = std::min(size.width_px, size.height_px) / kEdgeShare;
  return std::clamp(part, kLeastEdgePx, kEdgePx);
}

// Reference and picture, each reduced by a whole number. Similarities stay in full pixels.
class Level {
 public:
  Level(PlaneView reference, PlaneView picture, int side, int picture_side, double fine_px)
      : side_(side),
        picture_side_(picture_side),
        reference_(detail_of(reduced(reference, side).view(), fine_px, kCoarsePx)),
        picture_size_(reduced(picture, picture_side).size()),
        edge_(edge_of(reference_.size())),
        picture_(detail_of(reduced(picture, picture_side).view(), fine_px, kCoarsePx).view()) {}

  [[nodiscard]] bool step(Similarity& map, bool scale_is_known, double& moved_px) const {
    const auto rows = static_cast<std::size_t>(reference_.height());
    std::vector<std::vector<float>> seen(rows);
    parallel_for(std::ssize(seen), [&](std::int64_t y) {
      seen[static_cast<std::size_t>(y)] = picture_row(map, static_cast<int>(y));
    });
    Row found{};
    double spread = 0;
    for (int round = 0; round < 2; ++round) {  // the second with weights by the first's residuals
      std::vector<Normal> sums(rows);
      parallel_for(std::ssize(sums), [&](std::int64_t y) {
        const auto row = static_cast<std::size_t>(y);
        add_row(static_cast<int>(y), seen[row], found, spread, sums[row]);
      });
      Normal whole;
      for (const Normal& sum : sums) whole.add(sum);
      if (scale_is_known) whole.fix(kScale);
      const auto solved = whole.solution();
      if (!solved) return false;
      found = *solved;
      if (round == 0) spread = spread_of(seen, found);
    }
    const double reach = this->reach();
    const auto limited = [](double px) { return std::clamp(px, -kLongestStepPx, kLongestStepPx); };
    for (std::size_t i = 0; i < 4; ++i) found[i] = limited(found[i]);
    map = map.after({found[0] * side_, found[1] * side_}, found[2] / reach, found[3] / reach);
    moved_px = std::hypot(std::hypot(found[0], found[1]), std::hypot(found[2], found[3]));
    return true;
  }

  // Correlation of the detail where both are seen; 0 where that is little of either.
  [[nodiscard]] double agreement(const Similarity& map) const {
    double both = 0;
    double one = 0;
    double other = 0;
    std::int64_t seen_px = 0;
    for (int y = edge_; y < reference_.height() - edge_; ++y) {
      const std::vector<float> seen = picture_row(map, y);
      for (int x = edge_; x < reference_.width() - edge_; ++x) {
        const auto p = static_cast<double>(seen[static_cast<std::size_t>(x)]);
        if (std::isnan(p)) continue;
        ++seen_px;
        const auto r = static_cast<double>(reference_.row(y)[x]);
        both += r * p;
        one += r * r;
        other += p * p;
      }
    }
    const double zoom = map.scale * side_ / picture_side_;
    const double area = std::min(static_cast<double>(reference_.size().area_px()),
                                 static_cast<double>(picture_size_.area_px()) / (zoom * zoom));
    if (static_cast<double>(seen_px) < kLeastSeen * area) return 0;
    return one > 0 && other > 0 ? both / std::sqrt(one * other) : 0;
  }

 private:
  [[nodiscard]] double reach() const {
    return 0.5 * std::hypot(reference_.width(), reference_.height());
  }

  // A row of the reference as the picture shows it; NaN outside it.
  [[nodiscard]] std::vector<float> picture_row(const Similarity& map, int y) const {
    std::vector<float> out(static_cast<std::size_t>(reference_.width()), std::nanf(""));
    const auto full = [](int at, int side) { return at * side + 0.5 * (side - 1); };
    const auto level = [this](double at) {
      return (at - 0.5 * (picture_side_ - 1)) / picture_side_;
    };
    const auto inside = [this](double at, int length) {
      return at >= edge_ && at <= length - 1 - edge_;
    };
    for (std::size_t x = 0; x < out.size(); ++x) {
      const Displacement at = map.seen_at(full(static_cast<int>(x), side_), full(y, side_));
      const double px = level(at.x_px);
      const double py = level(at.y_px);
      if (inside(px, picture_size_.width_px) && inside(py, picture_size_.height_px))
        out[x] = picture_.at(px, py);
    }
    return out;
  }

  [[nodiscard]] Row row_at(int x, int y, float seen) const {
    const float* up = reference_.row(y - 1);
    const float* mid = reference_.row(y);
    const float* down = reference_.row(y + 1);
    const auto gx = 0.5 * static_cast<double>(mid[x + 1] - mid[x - 1]);
    const auto gy = 0.5 * static_cast<double>(down[x] - up[x]);
    const auto curvature =
        static_cast<double>(mid[x - 1] + mid[x + 1] + up[x] + down[x] - 4 * mid[x]);
    const double u = (x - 0.5 * (reference_.width() - 1)) / reach();
    const double v = (y - 0.5 * (reference_.height() - 1)) / reach();
    return {gx, gy, gx * u + gy * v, gy * u - gx * v, static_cast<double>(seen), 1, curvature};
  }

  [[nodiscard]] double residual(const Row& row, const Row& found, int x, int y) const {
    double sum = static_cast<double>(reference_.row(y)[x]);
    for (std::size_t i = 0; i < kUnknowns; ++i) sum -= row[i] * found[i];
    return sum;
  }

  // @param spread  of the residuals of `found`; 0: not known, all count alike.
  void add_row(int y, const std::vector<float>& seen, const Row& found, double spread,
               Normal& sums) const {
    if (y < edge_ || y >= reference_.height() - edge_) return;
    for (int x = edge_; x < reference_.width() - edge_; ++x) {
      const float at = seen[static_cast<std::size_t>(x)];
      if (std::isnan(at)) continue;
      const Row row = row_at(x, y, at);
      double weight = 1;
      if (spread > 0) {
        const double off = residual(row, found, x, y) / (kDoubtful * spread);
        weight = 1 / (1 + off * off);
      }
      sums.add(row, static_cast<double>(reference_.row(y)[x]), weight);
    }
  }

  [[nodiscard]] double spread_of(const std::vector<std::vector<float>>& seen,
                                 const Row& found) const {
    std::vector<double> residuals;
    for (int y = edge_; y < reference_.height() - edge_; y += 2) {
      for (int x = edge_; x < reference_.width() - edge_; x += 2) {
        const float at = seen[static_cast<std::size_t>(y)][static_cast<std::size_t>(x)];
        if (!std::isnan(at)) residuals.push_back(residual(row_at(x, y, at), found, x, y));
      }
    }
    return sigma_about(std::move(residuals), 0.0);
  }

  int side_;
  int picture_side_;
  Plane reference_;
  Size picture_size_;
  int edge_;
  align::SplinePlane picture_;
};

bool too_small(Size size) { return std::min(size.width_px, size.height_px) < kLeastSide; }

}  // namespace

Outcome<Similarity> find_similarity(PlaneView reference, PlaneView picture,
                                    const SimilaritySearch& search) {
  if (too_small(reference.size()) || too_small(picture.size())) return Reject::no_structure;
  auto map = search_similarity(reference, picture, search);
  if (!map) return Reject::no_structure;
  const auto other = [&](int side) {
    return std::max(1, static_cast<int>(std::lround(side * search.scale)));
  };
  const int coarsest = search_reduction(reference.size());
  for (int side = coarsest; side >= 1; side /= 2) {
    const Level level(reference, picture, side, other(side), kFinePx);
    double moved_px = 1;
    for (int i = 0; i < kMostSteps && moved_px > kStillPx; ++i) {
      if (!level.step(*map, search.furthest_scale == 0, moved_px)) return Reject::no_structure;
    }
  }
  const int middle = std::max(1, coarsest / 2);
  const Level judged(reference, picture, middle, other(middle), kFinePx);
  if (!(judged.agreement(*map) >= search.least_agreement)) return Reject::weak_peak;
  return *map;
}

}  // namespace lull::merge
