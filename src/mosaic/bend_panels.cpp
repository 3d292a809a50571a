#include "mosaic/bend_panels.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstddef>
#include <numbers>
#include <span>

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

double dot(const Vector& a, const Vector& b) {
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) sum += a[i].x_px * b[i].x_px + a[i].y_px * b[i].y_px;
  return sum;
}

void add_scaled(Vector& to, double factor, const Vector& from) {
  for (std::size_t i = 0; i < to.size(); ++i) {
    to[i].x_px += factor * from[i].x_px;
    to[i].y_px += factor * from[i].y_px;
  }
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
    for (std::size_t i = 0; i < bends_.size(); ++i) {
      const Vector once = stretched(bends_[i], starts_[i], in);
      const Vector twice = stretched(bends_[i], 0, once);
      for (std::size_t k = 0; k < twice.size(); ++k) {
        out[starts_[i] + k].x_px += strength_ * twice[k].x_px;
        out[starts_[i] + k].y_px += strength_ * twice[k].y_px;
      }
    }
  }

 private:
  // kappa^2 - Laplacian; beyond the edges as at them.
  [[nodiscard]] Vector stretched(const Bend& bend, std::size_t start, const Vector& in) const {
    const int columns = bend.columns();
    const int rows = bend.rows();
    Vector out(bend.nodes.size());
    const auto at = [&](int c, int r) -> const Displacement& {
      return in[start +
                static_cast<std::size_t>(std::clamp(r, 0, rows - 1)) *
                    static_cast<std::size_t>(columns) +
                static_cast<std::size_t>(std::clamp(c, 0, columns - 1))];
    };
    for (int r = 0; r < rows; ++r) {
      for (int c = 0; c < columns; ++c) {
        const Displacement here = at(c, r);
        const Displacement around = at(c - 1, r) + at(c + 1, r) + (at(c, r - 1) + at(c, r + 1));
        Displacement& to = out[static_cast<std::size_t>(r) * static_cast<std::size_t>(columns) +
                               static_cast<std::size_t>(c)];
        to.x_px = (kappa2_ + 4) * here.x_px - around.x_px;
        to.y_px = (kappa2_ + 4) * here.y_px - around.y_px;
      }
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
  const auto product = [&](const Vector& in) {
    Vector out(in.size());
    for (std::size_t i = 0; i < rows.size(); ++i)
      spread_back(rows[i], weights[i], applied(rows[i], in), out);
    field.add_prior(in, out);
    return out;
  };
  Vector residual(nodes.size());
  for (std::size_t i = 0; i < rows.size(); ++i)
    spread_back(rows[i], -weights[i], rows[i].gap, residual);
  add_scaled(residual, -1, product(nodes));
  Vector direction = residual;
  double norm = dot(residual, residual);
  const double enough = kEnough * kEnough * norm;
  for (int step = 0; step < kMostSteps && norm > enough; ++step) {
    const Vector moved = product(direction);
    const double length = norm / dot(direction, moved);
    add_scaled(nodes, length, direction);
    add_scaled(residual, -length, moved);
    const double next = dot(residual, residual);
    const double share = next / norm;
    norm = next;
    for (std::size_t i = 0; i < direction.size(); ++i) {
      direction[i].x_px = residual[i].x_px + share * direction[i].x_px;
      direction[i].y_px = residual[i].y_px + share * direction[i].y_px;
    }
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
