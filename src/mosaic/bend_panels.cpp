#include "mosaic/bend_panels.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <numbers>
#include <numeric>
#include <span>

#include "core/parallel.h"

namespace lull::mosaic {

namespace {

constexpr int kRounds = 3;  // of weights by residuals
constexpr int kMostSteps = 300;
constexpr double kEnough = 1e-6;  // of the first residual

using Vector = std::vector<Displacement>;

// A tie in terms of the nodes of all panels: gap + sum of shares x nodes = 0, in px of the mosaic.
// Turned panels: their bends are turned into the mosaic. Of an anchor the second four have no
// share.
struct Row {
  std::size_t node[8];
  double share[8];
  Displacement gap;
  Information weight;
};

constexpr std::size_t kBlock = 8192;  // nodes that one thread takes at a time

// Calls body(first, end) for blocks of so many nodes.
template <class Body>
void for_blocks(std::size_t nodes, const Body& body) {
  parallel_for(static_cast<std::int64_t>((nodes + kBlock - 1) / kBlock), [&](std::int64_t block) {
    const std::size_t first = static_cast<std::size_t>(block) * kBlock;
    body(first, std::min(first + kBlock, nodes));
  });
}

// Sum of of_node(i), by blocks: the same for any number of threads.
template <class OfNode>
double sum_over(std::size_t nodes, const OfNode& of_node) {
  std::vector<double> sums((nodes + kBlock - 1) / kBlock);
  for_blocks(nodes, [&](std::size_t first, std::size_t end) {
    double sum = 0;
    for (std::size_t i = first; i < end; ++i) sum += of_node(i);
    sums[first / kBlock] = sum;
  });
  return std::accumulate(sums.begin(), sums.end(), 0.0);
}

double dot(Displacement a, Displacement b) { return a.x_px * b.x_px + a.y_px * b.y_px; }

void add_scaled(Displacement& to, double factor, Displacement what) {
  to.x_px += factor * what.x_px;
  to.y_px += factor * what.y_px;
}

// The nodes of all panels in one row, as displacements in the mosaic.
class Field {
 public:
  Field(const std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group,
        const BendPrior& prior)
      : first_(maps.size(), 0) {
    for (const PanelIndex panel : group) {
      first_[panel] = count_;
      bends_.emplace_back(maps[panel].panel);
      starts_.push_back(count_);
      count_ += bends_.back().nodes.size();
    }
    // A membrane with a restoring force: (kappa^2 - Laplacian), of correlation length 1 / kappa.
    const double kappa2 = std::pow(Bend::kNodePx / prior.length_px, 2);
    // Variance of a node of such a field in two dimensions, from its spectrum on the grid.
    double variance = 0;
    constexpr int kBins = 64;
    for (int i = 0; i < kBins; ++i) {
      for (int j = 0; j < kBins; ++j) {
        const auto sine2 = [](int k) {
          return std::pow(std::sin(std::numbers::pi * k / kBins), 2);
        };
        variance += std::pow(kappa2 + 4 * (sine2(i) + sine2(j)), -2);
      }
    }
    variance /= kBins * kBins;
    kappa2_ = kappa2;
    strength_ = variance / prior.variance_px2;
  }

  [[nodiscard]] std::size_t count() const { return count_; }

  [[nodiscard]] std::size_t first(PanelIndex panel) const { return first_[panel]; }

  // out += prior's precision times in: the square of the membrane's operator, panel by panel.
  void add_prior(const Vector& in, Vector& out) const {
    parallel_for(std::ssize(bends_), [&](std::int64_t panel) {
      const auto i = static_cast<std::size_t>(panel);
      const Vector once = stretched(bends_[i], starts_[i], in);
      const Vector twice = stretched(bends_[i], 0, once);
      for (std::size_t k = 0; k < twice.size(); ++k) {
        out[starts_[i] + k].x_px += strength_ * twice[k].x_px;
        out[starts_[i] + k].y_px += strength_ * twice[k].y_px;
      }
    });
  }

 private:
  // kappa^2 - Laplacian; beyond the edges as at them.
  [[nodiscard]] Vector stretched(const Bend& bend, std::size_t start, const Vector& in) const {
    const int columns = bend.columns();
    const int rows = bend.rows();
    Vector out(bend.nodes.size());
    const auto row = [&](int r) {
      return in.data() + start +
             static_cast<std::size_t>(std::clamp(r, 0, rows - 1)) *
                 static_cast<std::size_t>(columns);
    };
    Displacement* to = out.data();
    for (int r = 0; r < rows; ++r) {
      const Displacement* above = row(r - 1);
      const Displacement* here = row(r);
      const Displacement* below = row(r + 1);
      const auto put = [&](int left, int c, int right) {
        const Displacement around = here[left] + here[right] + (above[c] + below[c]);
        *to++ = {(kappa2_ + 4) * here[c].x_px - around.x_px,
                 (kappa2_ + 4) * here[c].y_px - around.y_px};
      };
      put(0, 0, std::min(1, columns - 1));
      for (int c = 1; c + 1 < columns; ++c) put(c - 1, c, c + 1);
      if (columns > 1) put(columns - 2, columns - 1, columns - 1);
    }
    return out;
  }

  std::vector<std::size_t> first_;
  std::vector<Bend> bends_;
  std::vector<std::size_t> starts_;
  std::size_t count_ = 0;
  double kappa2_ = 0;
  double strength_ = 0;
};

std::vector<Row> rows_of(const std::vector<PanelMap>& maps, const std::vector<Link>& links,
                         const Field& field) {
  std::vector<Row> rows;
  for (const Link& link : links) {
    const Bend first(maps[link.first].panel);
    const Bend second(maps[link.second].panel);
    rows.reserve(rows.size() + link.ties.size());
    for (const Tie& tie : link.ties) {
      Row row{};
      const Bend::Corners a = first.corners(tie.first);
      const Bend::Corners b = second.corners(tie.second);
      for (int i = 0; i < 4; ++i) {
        row.node[i] = field.first(link.first) + a.node[i];
        row.share[i] = a.share[i];
        row.node[4 + i] = field.first(link.second) + b.node[i];
        row.share[4 + i] = -b.share[i];
      }
      row.gap = maps[link.first].to_mosaic(tie.first) - maps[link.second].to_mosaic(tie.second);
      row.weight = tie.weight;
      rows.push_back(row);
    }
  }
  return rows;
}

std::vector<Row> rows_of(const std::vector<PanelMap>& maps, const std::vector<Anchor>& anchors,
                         const Field& field) {
  std::vector<Row> rows;
  rows.reserve(anchors.size());
  for (const Anchor& anchor : anchors) {
    Row row{};
    const PanelMap& map = maps[anchor.panel];
    const Bend::Corners around = Bend(map.panel).corners(anchor.place);
    for (int i = 0; i < 4; ++i) {
      row.node[i] = field.first(anchor.panel) + around.node[i];
      row.share[i] = around.share[i];
    }
    row.gap = map.to_mosaic(anchor.place) - anchor.mosaic;
    row.weight = anchor.weight;
    rows.push_back(row);
  }
  return rows;
}

Displacement applied(const Row& row, const Vector& nodes) {
  Displacement out;
  for (int i = 0; i < 8; ++i) {
    out.x_px += row.share[i] * nodes[row.node[i]].x_px;
    out.y_px += row.share[i] * nodes[row.node[i]].y_px;
  }
  return out;
}

// What these nodes leave of the gaps.
Gaps judged(std::span<const Row> rows, const Vector& nodes, double least_spread) {
  Gaps out;
  for (const Row& row : rows) out.add(row.gap + applied(row, nodes), row.weight);
  out.judge(least_spread);
  return out;
}

void spread_back(const Row& row, double trusted, Displacement value, Vector& out) {
  const Displacement weighed = row.weight.times({trusted * value.x_px, trusted * value.y_px});
  for (int i = 0; i < 8; ++i) {
    out[row.node[i]].x_px += row.share[i] * weighed.x_px;
    out[row.node[i]].y_px += row.share[i] * weighed.y_px;
  }
}

// Conjugate gradients (Hestenes & Stiefel 1952, J. Res. Natl. Bur. Stand. 49, 409).
void solve(const Field& field, const std::vector<Row>& rows, const std::vector<double>& weights,
           Vector& nodes) {
  const std::size_t count = nodes.size();
  Vector moved(count);
  const auto move_by = [&](const Vector& in) {
    std::fill(moved.begin(), moved.end(), Displacement{});
    for (std::size_t i = 0; i < rows.size(); ++i)
      spread_back(rows[i], weights[i], applied(rows[i], in), moved);
    field.add_prior(in, moved);
  };
  Vector residual(count);
  for (std::size_t i = 0; i < rows.size(); ++i)
    spread_back(rows[i], -weights[i], rows[i].gap, residual);
  move_by(nodes);
  for (std::size_t i = 0; i < count; ++i) add_scaled(residual[i], -1, moved[i]);
  Vector direction = residual;
  double norm = sum_over(count, [&](std::size_t i) { return dot(residual[i], residual[i]); });
  const double enough = kEnough * kEnough * norm;
  for (int step = 0; step < kMostSteps && norm > enough; ++step) {
    move_by(direction);
    const double length =
        norm / sum_over(count, [&](std::size_t i) { return dot(direction[i], moved[i]); });
    const double next = sum_over(count, [&](std::size_t i) {
      add_scaled(nodes[i], length, direction[i]);
      add_scaled(residual[i], -length, moved[i]);
      return dot(residual[i], residual[i]);
    });
    const double share = next / norm;
    norm = next;
    for_blocks(count, [&](std::size_t first, std::size_t end) {
      for (std::size_t i = first; i < end; ++i) {
        direction[i] = {residual[i].x_px + share * direction[i].x_px,
                        residual[i].y_px + share * direction[i].y_px};
      }
    });
  }
}

}  // namespace

double bend_panels(std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group,
                   const std::vector<Link>& links, const BendPrior& prior,
                   const std::vector<Anchor>& anchors) {
  for (const PanelIndex panel : group) maps[panel].bend = Bend();
  const Field field(maps, group, prior);
  std::vector<Row> rows = rows_of(maps, links, field);
  const std::size_t ties = rows.size();
  const std::vector<Row> anchored = rows_of(maps, anchors, field);
  rows.insert(rows.end(), anchored.begin(), anchored.end());
  std::vector<double> weights(rows.size(), 1.0);
  Vector nodes(field.count());
  double rms_px = 0;
  for (int round = 0; round < kRounds; ++round) {
    solve(field, rows, weights, nodes);
    const std::span<const Row> all(rows);
    const Gaps gaps = judged(all.first(ties), nodes, kAnySpread);
    const Gaps off = judged(all.subspan(ties), nodes, 1);
    rms_px = gaps.rms_px;
    weights = gaps.trusted;
    weights.insert(weights.end(), off.trusted.begin(), off.trusted.end());
  }
  for (const PanelIndex panel : group) {
    Bend bend(maps[panel].panel);
    const std::complex<double> back = 1.0 / maps[panel].factor;
    for (std::size_t k = 0; k < bend.nodes.size(); ++k) {
      const Displacement node = nodes[field.first(panel) + k];
      const std::complex<double> own = back * std::complex<double>(node.x_px, node.y_px);
      bend.nodes[k] = {own.real(), own.imag()};
    }
    maps[panel].bend = std::move(bend);
  }
  return rms_px;
}

}  // namespace lull::mosaic
