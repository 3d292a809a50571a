#include "merge/similarity_search.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>
#include <vector>

#include "core/parallel.h"
#include "core/reduced.h"
#include "merge/detail.h"
#include "spectrum/fft.h"

namespace lull::merge {

namespace {

constexpr int kLongestSide = 64;
constexpr double kFinePx = 1;  // of the detail, reduced px
constexpr double kCoarsePx = 6;
constexpr double kTurnStep = 0.05;  // 3 degrees: 1.6 px at the end of a radius of 32
constexpr double kScaleStep = 0.04;
constexpr double kLeastOverlap = 0.4;  // of the shorter side
// A plain disc fits as well upside down: half a turn has to fit better than by chance.
constexpr double kUprightFirst = 0.97;

double energy_of(PlaneView plane) {
  double sum = 0;
  for (int y = 0; y < plane.height_px; ++y)
    for (int x = 0; x < plane.width_px; ++x)
      sum += static_cast<double>(plane.row(y)[x]) * static_cast<double>(plane.row(y)[x]);
  return sum;
}

float bilinear(PlaneView plane, double x, double y) {
  const int x0 = static_cast<int>(std::floor(x));
  const int y0 = static_cast<int>(std::floor(y));
  if (x0 < 0 || y0 < 0 || x0 + 1 >= plane.width_px || y0 + 1 >= plane.height_px) return 0;
  const auto tx = static_cast<float>(x - x0);
  const auto ty = static_cast<float>(y - y0);
  const float* up = plane.row(y0) + x0;
  const float* down = plane.row(y0 + 1) + x0;
  return (1 - ty) * ((1 - tx) * up[0] + tx * up[1]) + ty * ((1 - tx) * down[0] + tx * down[1]);
}

struct Candidate {
  double scale = 1;
  double turn = 0;
};

struct Match {
  double height = -1;
  Displacement shift;  // of the picture's middle against the canvas, reduced px of the reference
};

// Correlates one turned and scaled picture with the reference.
class Correlator {
 public:
  Correlator(Plane reference, Plane picture, double least_scale)
      : reference_size_(reference.size()), picture_(std::move(picture)) {
    const double diagonal = std::hypot(picture_.width(), picture_.height()) / least_scale;
    const int longest = std::max(reference.width(), reference.height());
    const int side = spectrum::fast_length_above(longest + static_cast<int>(diagonal) + 2);
    canvas_ = {side, side};
    Plane padded(canvas_);
    for (int y = 0; y < reference.height(); ++y)
      std::copy_n(reference.row(y), reference.width(), padded.row(y));
    spectrum::Fft fft(canvas_);
    fft.forward(std::as_const(padded).view(), reference_);
    reference_energy_ = energy_of(std::as_const(reference).view());
  }

  [[nodiscard]] bool has_detail() const {
    return reference_energy_ > 0 && energy_of(picture_.view()) > 0;
  }

  [[nodiscard]] Match match(const Candidate& candidate) const {
    Plane moved(canvas_);
    // About the middle of a square from which it cannot turn out.
    const double half = 0.5 * std::hypot(picture_.width(), picture_.height()) / candidate.scale;
    const int span = static_cast<int>(2 * half) + 1;
    const Similarity map{{span, span}, picture_.size(), candidate.scale, candidate.turn, {}};
    for (int y = 0; y < span; ++y) {
      for (int x = 0; x < span; ++x) {
        const Displacement at = map.seen_at(x, y);
        moved.row(y)[x] = bilinear(picture_.view(), at.x_px, at.y_px);
      }
    }
    const double energy = energy_of(std::as_const(moved).view()) * reference_energy_;
    if (!(energy > 0)) return {};
    spectrum::Fft fft(canvas_);
    spectrum::Spectrum bins;
    fft.forward(std::as_const(moved).view(), bins);
    for (int r = 0; r < bins.rows(); ++r)
      for (int c = 0; c < bins.columns(); ++c)
        bins.row(r)[c] = reference_.row(r)[c] * std::conj(bins.row(r)[c]);
    fft.inverse(bins, moved.view());
    Match best = highest(moved, candidate, span);
    best.height /= std::sqrt(energy);
    return best;
  }

 private:
  // correlation(d): the moved picture, displaced by d, on the reference.
  [[nodiscard]] Match highest(const Plane& correlation, const Candidate& candidate,
                              int span) const {
    const Displacement middle = middle_of({span, span});
    const Displacement wanted = middle_of(reference_size_);
    const auto reach = [&](int reference, int picture) {
      const double other = picture / candidate.scale;
      return 0.5 * (reference + other) - kLeastOverlap * std::min<double>(reference, other);
    };
    const double reach_x = reach(reference_size_.width_px, picture_.width());
    const double reach_y = reach(reference_size_.height_px, picture_.height());
    Match best;
    for (int y = 0; y < canvas_.height_px; ++y) {
      for (int x = 0; x < canvas_.width_px; ++x) {
        const int dx = 2 * x < canvas_.width_px ? x : x - canvas_.width_px;
        const int dy = 2 * y < canvas_.height_px ? y : y - canvas_.height_px;
        const Displacement shift = middle + Displacement{double(dx), double(dy)} - wanted;
        if (std::abs(shift.x_px) > reach_x || std::abs(shift.y_px) > reach_y) continue;
        const auto height = static_cast<double>(correlation.row(y)[x]);
        if (height > best.height) best = {height, shift};
      }
    }
    return best;
  }

  Size reference_size_;
  Plane picture_;
  Size canvas_;
  spectrum::Spectrum reference_;
  double reference_energy_ = 0;
};

std::vector<Candidate> candidates(const SimilaritySearch& search, double scale) {
  std::vector<Candidate> out;
  const int turns = static_cast<int>(search.furthest_turn / kTurnStep);
  const int scales = static_cast<int>(search.furthest_scale / kScaleStep);
  for (const double about : {0.0, std::numbers::pi}) {
    for (int t = -turns; t <= turns; ++t) {
      for (int s = -scales; s <= scales; ++s)
        out.push_back({scale * (1 + kScaleStep * s), about + kTurnStep * t});
    }
  }
  return out;
}

}  // namespace

int search_reduction(Size reference) {
  int side = 1;
  while (std::max(reference.width_px, reference.height_px) / side > kLongestSide) side *= 2;
  return side;
}

std::optional<Similarity> search_similarity(PlaneView reference, PlaneView picture,
                                            const SimilaritySearch& search) {
  const int side = search_reduction(reference.size());
  const int other = std::max(1, static_cast<int>(std::lround(side * search.scale)));
  const double scale = search.scale * side / other;  // in reduced px
  const auto detail = [](PlaneView plane, int by) {
    return detail_of(reduced(plane, by).view(), kFinePx, kCoarsePx);
  };
  const Correlator correlator(detail(reference, side), detail(picture, other),
                              scale * (1 - search.furthest_scale));
  if (!correlator.has_detail()) return std::nullopt;
  const std::vector<Candidate> all = candidates(search, scale);
  std::vector<Match> matches(all.size());
  parallel_for(std::ssize(all), [&](std::int64_t i) {
    matches[static_cast<std::size_t>(i)] = correlator.match(all[static_cast<std::size_t>(i)]);
  });
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (std::abs(all[i].turn) > search.furthest_turn) matches[i].height *= kUprightFirst;
  }
  const auto best =
      std::max_element(matches.begin(), matches.end(),
                       [](const Match& a, const Match& b) { return a.height < b.height; });
  const Candidate& found = all[static_cast<std::size_t>(best - matches.begin())];
  // The reference's middle is seen where the shift, turned into the picture, leads from its middle.
  Similarity out{reference.size(), picture.size(), found.scale * other / side, found.turn, {}};
  const Displacement from{-best->shift.x_px * side, -best->shift.y_px * side};
  return out.after(from, 0, 0);
}

}  // namespace lull::merge
