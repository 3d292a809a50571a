#include "judge/mosaic_blur.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <optional>
#include <vector>

#include "align/gaussian_blur.h"
#include "core/normal_equations.h"
#include "core/parallel.h"

namespace lull::judge {

namespace {

constexpr int kSquarePx = 512;
constexpr int kAroundPx = 64;  // of a square: as far as the widest Gaussian sees
constexpr int kStepPx = 2;     // between samples of the fit
constexpr std::array<double, 10> kSigmasPx = {0, 1, 1.4, 2, 2.8, 4, 5.6, 8, 11, 16};
constexpr std::size_t kForSlopes = 3;  // which of them: slopes of the scene alone are too fine
constexpr std::size_t kForLight = 4;
constexpr std::size_t kShares = kSigmasPx.size();
constexpr std::size_t kUnknowns = kShares + 3;  // displacement, offset
constexpr double kLit = 0.01;                   // of the brightest light, through the widest
constexpr double kSky = 0.02;          // keeps places without light from counting without bound
constexpr double kDamping = 1e-8;      // Gaussians are much alike
constexpr double kMostRaised = 1.1;    // amplitude of detail through a blur
constexpr std::int64_t kLeast = 4000;  // samples

using Equations = NormalEquations<kUnknowns>;
using Shares = std::array<double, kShares>;

// A square of the scene through each Gaussian.
class Blurred {
 public:
  Blurred(PlaneView scene, const Box& square)
      : seen_(Box{square.x0 - kAroundPx, square.y0 - kAroundPx, square.x1 + kAroundPx,
                  square.y1 + kAroundPx}
                  .intersection({0, 0, scene.width_px, scene.height_px})) {
    align::GaussianBlur::Workspace work;
    for (const double sigma_px : kSigmasPx) {
      planes_.emplace_back(seen_.width_px(), seen_.height_px());
      align::GaussianBlur(sigma_px).apply(scene.crop(seen_), work, planes_.back().view());
    }
  }

  // A pixel of the scene.
  [[nodiscard]] double at(std::size_t gaussian, int x, int y) const {
    const int column = std::clamp(x - seen_.x0, 0, seen_.width_px() - 1);
    const int row = std::clamp(y - seen_.y0, 0, seen_.height_px() - 1);
    return static_cast<double>(planes_[gaussian].row(row)[column]);
  }

 private:
  Box seen_;
  std::vector<Plane> planes_;
};

struct Sums {
  Equations equations;
  std::int64_t count = 0;
};

Sums sums_of(const Brought& mosaic, PlaneView scene, const Box& square, double brightest) {
  const Blurred blurred(scene, square);
  Sums out;
  for (int y = square.y0; y < square.y1; y += kStepPx) {
    for (int x = square.x0; x < square.x1; x += kStepPx) {
      if (mosaic.covered.row(y)[x] == 0) continue;
      if (blurred.at(kShares - 1, x, y) < kLit * brightest) continue;
      Equations::Row row{};
      for (std::size_t i = 0; i < kShares; ++i) row[i] = blurred.at(i, x, y);
      const auto slope = [&](int dx, int dy) {
        return blurred.at(kForSlopes, x + dx, y + dy) - blurred.at(kForSlopes, x - dx, y - dy);
      };
      row[kShares] = slope(1, 0);
      row[kShares + 1] = slope(0, 1);
      row[kShares + 2] = kSky * brightest;
      const double light = std::max(row[kForLight], 0.0) + kSky * brightest;
      out.equations.add(row, static_cast<double>(mosaic.light.row(y)[x]), 1 / light);
      ++out.count;
    }
  }
  return out;
}

// Squares that cover a scene.
class Grid {
 public:
  explicit Grid(Size scene)
      : scene_(scene),
        columns_(std::max(1, scene.width_px / kSquarePx)),
        rows_(std::max(1, scene.height_px / kSquarePx)) {}

  [[nodiscard]] int count() const { return columns_ * rows_; }

  [[nodiscard]] Box square(int number) const {
    const int column = number % columns_;
    const int row = number / columns_;
    return {column * kSquarePx, row * kSquarePx,
            column + 1 == columns_ ? scene_.width_px : (column + 1) * kSquarePx,
            row + 1 == rows_ ? scene_.height_px : (row + 1) * kSquarePx};
  }

  // Calls body(other) for the square and those around it.
  template <class Body>
  void around(int number, const Body& body) const {
    for (int row = number / columns_ - 1; row <= number / columns_ + 1; ++row) {
      for (int column = number % columns_ - 1; column <= number % columns_ + 1; ++column) {
        if (row < 0 || column < 0 || row >= rows_ || column >= columns_) continue;
        body(row * columns_ + column);
      }
    }
  }

  // Squares of how far apart two are.
  [[nodiscard]] int far(int one, int other) const {
    const int across = one % columns_ - other % columns_;
    const int down = one / columns_ - other / columns_;
    return across * across + down * down;
  }

  // The four squares whose middles lie around a pixel, and their shares.
  struct Corners {
    std::array<int, 4> square;
    std::array<double, 4> share;
  };

  [[nodiscard]] Corners corners(int x, int y) const {
    const auto split = [](int px, int count, int& first) {
      const double at = std::clamp((px + 0.5) / kSquarePx - 0.5, 0.0, count - 1.0);
      first = std::min(static_cast<int>(at), std::max(count - 2, 0));
      return at - first;
    };
    int column = 0;
    int row = 0;
    const double right = split(x, columns_, column);
    const double down = split(y, rows_, row);
    const int next = std::min(column + 1, columns_ - 1);
    const int below = std::min(row + 1, rows_ - 1);
    return {{row * columns_ + column, row * columns_ + next, below * columns_ + column,
             below * columns_ + next},
            {(1 - right) * (1 - down), right * (1 - down), (1 - right) * down, right * down}};
  }

 private:
  Size scene_;
  int columns_;
  int rows_;
};

// Whether detail of no width is raised: its amplitude through all Gaussians.
bool is_blur(const Shares& shares) {
  constexpr int kFrequencies = 50;
  for (int k = 1; k <= kFrequencies; ++k) {
    const double frequency = 0.5 * k / kFrequencies;
    double amplitude = 0;
    for (std::size_t i = 0; i < kShares; ++i) {
      const double turns = std::numbers::pi * kSigmasPx[i] * frequency;
      amplitude += shares[i] * std::exp(-2 * turns * turns);
    }
    if (std::abs(amplitude) > kMostRaised) return false;
  }
  return true;
}

// Shares may be below 0, as that describes an image of the telescope with its rings. Of a mosaic
// that lies far from its truth they may be no blur at all. Then only what is above 0 is taken: the
// lowest is left out until none is below.
std::optional<Shares> shares_of(Equations equations) {
  bool only_above = false;
  for (std::size_t round = 0; round < 2 * kShares; ++round) {
    const auto solved = equations.solution();
    if (!solved) return std::nullopt;
    double sum = 0;
    std::size_t lowest = 0;
    for (std::size_t i = 0; i < kShares; ++i) {
      sum += (*solved)[i];
      if ((*solved)[i] < (*solved)[lowest]) lowest = i;
    }
    Shares out{};
    for (std::size_t i = 0; i < kShares; ++i) out[i] = (*solved)[i] / sum;
    only_above = only_above || !(sum > 0) || !is_blur(out);
    if (!only_above || ((*solved)[lowest] >= 0 && sum > 0)) return out;
    equations.fix(lowest);
  }
  return std::nullopt;
}

// Of sum 1; none where too little is lit.
std::optional<Shares> shares_around(const Grid& grid, const std::vector<Sums>& sums, int number) {
  Sums all;
  grid.around(number, [&](int other) {
    all.equations.add(sums[static_cast<std::size_t>(other)].equations);
    all.count += sums[static_cast<std::size_t>(other)].count;
  });
  if (all.count < kLeast) return std::nullopt;
  all.equations.damp(kDamping);
  return shares_of(all.equations);
}

// Of all squares: those of the nearest that has some.
std::vector<Shares> shares_of_all(const Grid& grid, const std::vector<Sums>& sums) {
  std::vector<std::optional<Shares>> known;
  for (int i = 0; i < grid.count(); ++i) known.push_back(shares_around(grid, sums, i));
  std::vector<Shares> out;
  for (int i = 0; i < grid.count(); ++i) {
    Shares best{1};
    int nearest = -1;
    for (int other = 0; other < grid.count(); ++other) {
      const auto& shares = known[static_cast<std::size_t>(other)];
      if (!shares || (nearest >= 0 && grid.far(i, other) >= nearest)) continue;
      best = *shares;
      nearest = grid.far(i, other);
    }
    out.push_back(best);
  }
  return out;
}

}  // namespace

Plane through_blur_of(const Brought& mosaic, PlaneView scene) {
  const Grid grid(scene.size());
  float brightest = 0;
  for (int y = 0; y < scene.height_px; ++y)
    brightest = std::max(brightest, *std::max_element(scene.row(y), scene.row(y) + scene.width_px));
  std::vector<Sums> sums(static_cast<std::size_t>(grid.count()));
  parallel_for(grid.count(), [&](std::int64_t i) {
    sums[static_cast<std::size_t>(i)] =
        sums_of(mosaic, scene, grid.square(static_cast<int>(i)), static_cast<double>(brightest));
  });
  const std::vector<Shares> shares = shares_of_all(grid, sums);
  Plane out(scene.size());
  parallel_for(grid.count(), [&](std::int64_t number) {
    const Box square = grid.square(static_cast<int>(number));
    const Blurred blurred(scene, square);
    for (int y = square.y0; y < square.y1; ++y) {
      for (int x = square.x0; x < square.x1; ++x) {
        const Grid::Corners around = grid.corners(x, y);
        double light = 0;
        for (std::size_t corner = 0; corner < 4; ++corner) {
          const Shares& own = shares[static_cast<std::size_t>(around.square[corner])];
          double sum = 0;
          for (std::size_t i = 0; i < kShares; ++i) sum += own[i] * blurred.at(i, x, y);
          light += around.share[corner] * sum;
        }
        out.row(y)[x] = static_cast<float>(light);
      }
    }
  });
  return out;
}

}  // namespace lull::judge
