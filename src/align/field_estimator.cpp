#include "align/field_estimator.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "align/field_kernels.h"

namespace lull::align {

namespace {

constexpr int kNode = ShiftField::kNodePx;
constexpr float kLongestStepPx = 1.5F;
// Residuals are correlated over about a resolution element of 3 x 3 px, so a window holds that
// many fewer independent values.
constexpr double kCorrelatedPx = 9.0;

// Adds rows of per-pixel sums into the squares of one row of nodes.
void add_to_nodes(const float* sums, int width, int columns, float* nodes) {
  for (int c = 0; c < columns; ++c) {
    float sum = 0;
    for (int x = c * kNode; x < std::min((c + 1) * kNode, width); ++x) sum += sums[x];
    nodes[c] += sum;
  }
}

struct Step {
  double x_px = 0;
  double y_px = 0;
};

// Solves the windowed normal equations of one window. Means are taken off both sides.
// n, gx .. gyy: sums over the reference; e, ex, ey, ee: sums with the residual.
Step solve(double n, double gx, double gy, double gxx, double gxy, double gyy, double e, double ex,
           double ey, double ee, double prior_px) {
  if (n < 1) return {};
  const double mean_e = e / n;
  const double a11 = gxx - gx * gx / n;
  const double a12 = gxy - gx * gy / n;
  const double a22 = gyy - gy * gy / n;
  const double b1 = ex - mean_e * gx;
  const double b2 = ey - mean_e * gy;
  const double variance = std::max(ee / n - mean_e * mean_e, 0.0);
  const double damping = kCorrelatedPx * variance / (prior_px * prior_px) + 1e-12 * (a11 + a22) + 1e-30;
  const double d11 = a11 + damping;
  const double d22 = a22 + damping;
  const double determinant = d11 * d22 - a12 * a12;
  return {-(d22 * b1 - a12 * b2) / determinant, -(d11 * b2 - a12 * b1) / determinant};
}

float limited(double step) {
  return std::clamp(static_cast<float>(step), -kLongestStepPx, kLongestStepPx);
}

double total(const std::vector<float>& grid) {
  return std::accumulate(grid.begin(), grid.end(), 0.0);
}

}  // namespace

void inside_frame(Size frame, const float* x, const float* y, int count, float* valid) {
  const auto right = static_cast<float>(frame.width_px - 1);
  const auto bottom = static_cast<float>(frame.height_px - 1);
  for (int i = 0; i < count; ++i) {
    const bool inside = x[i] >= 0.0F && x[i] <= right && y[i] >= 0.0F && y[i] <= bottom;
    valid[i] = inside ? 1.0F : 0.0F;
  }
}

FieldEstimator::FieldEstimator(PlaneView reference, PlaneView valid, FieldOptions options)
    : reference_(Plane::copy_of(reference)),
      valid_(Plane::copy_of(valid)),
      gradient_x_(reference.size()),
      gradient_y_(reference.size()),
      options_(std::move(options)),
      shape_(reference.size()) {
  const int width = reference.width_px;
  const int height = reference.height_px;
  const auto nodes = shape_.local_x.size();
  for (auto* grid : {&n_, &x_, &y_, &xx_, &xy_, &yy_}) grid->assign(nodes, 0.0F);
  for (int y = 1; y < height - 1; ++y) {
    float* gx = gradient_x_.row(y);
    float* gy = gradient_y_.row(y);
    const float* up = reference_.row(y - 1);
    const float* mid = reference_.row(y);
    const float* down = reference_.row(y + 1);
    float* ok = valid_.row(y);
    for (int x = 1; x < width - 1; ++x) {
      if (ok[x] == 0.0F || ok[x - 1] == 0.0F || valid.at(x + 1, y) == 0.0F ||
          valid.at(x, y - 1) == 0.0F || valid.at(x, y + 1) == 0.0F) {
        continue;
      }
      gx[x] = 0.5F * (mid[x + 1] - mid[x - 1]);
      gy[x] = 0.5F * (down[x] - up[x]);
      const auto node = static_cast<std::size_t>((y / kNode) * shape_.columns() + x / kNode);
      n_[node] += 1.0F;
      x_[node] += gx[x];
      y_[node] += gy[x];
      xx_[node] += gx[x] * gx[x];
      xy_[node] += gx[x] * gy[x];
      yy_[node] += gy[x] * gy[x];
    }
  }
  for (const FieldLevel& level : options_.levels) add_level(level);
}

void FieldEstimator::add_level(const FieldLevel& level) {
  Level out{level, {}, n_, x_, y_, xx_, xy_, yy_};
  if (level.window_sigma_px > 0) {
    out.window.emplace_back(shape_.columns(), shape_.rows(), level.window_sigma_px);
    std::vector<float> scratch;
    for (auto* grid : {&out.n, &out.x, &out.y, &out.xx, &out.xy, &out.yy}) {
      out.window[0].apply(*grid, scratch);
    }
  }
  levels_.push_back(std::move(out));
}

void FieldEstimator::collect(const PaddedFrame& frame, const ShiftField& field, double& gain,
                             Workspace& work) const {
  const int width = reference_.width();
  const auto pitch = static_cast<std::size_t>(width);
  for (auto* row : {&work.x, &work.y, &work.sampled, &work.valid}) row->resize(pitch);
  work.sums.resize(4 * pitch);
  for (auto& grid : work.grids) grid.assign(n_.size(), 0.0F);
  double frame_sum = 0;
  double reference_sum = 0;
  for (int r = 0; r < shape_.rows(); ++r) {
    std::fill(work.sums.begin(), work.sums.end(), 0.0F);
    for (int y = r * kNode; y < std::min((r + 1) * kNode, reference_.height()); ++y) {
      field.coordinates(y, work.x.data(), work.y.data());
      kernels::sample_cubic()(frame.origin(), frame.stride_elems(), work.x.data(), work.y.data(),
                              width, static_cast<float>(frame.size().width_px),
                              static_cast<float>(frame.size().height_px), work.sampled.data());
      inside_frame(frame.size(), work.x.data(), work.y.data(), width, work.valid.data());
      const float* ok = valid_.row(y);
      for (int x = 0; x < width; ++x) work.valid[static_cast<std::size_t>(x)] *= ok[x];
      kernels::add_products()(work.sampled.data(), reference_.row(y), gradient_x_.row(y),
                              gradient_y_.row(y), work.valid.data(), static_cast<float>(gain),
                              width, work.sums.data(), width);
      float frame_row = 0;
      float reference_row = 0;
      for (int x = 0; x < width; ++x) {
        frame_row += work.valid[static_cast<std::size_t>(x)] * work.sampled[static_cast<std::size_t>(x)];
        reference_row += work.valid[static_cast<std::size_t>(x)] * reference_.row(y)[x];
      }
      frame_sum += static_cast<double>(frame_row);
      reference_sum += static_cast<double>(reference_row);
    }
    for (std::size_t i = 0; i < 4; ++i) {
      add_to_nodes(work.sums.data() + i * pitch, width, shape_.columns(),
                   work.grids[i].data() + static_cast<std::ptrdiff_t>(r) * shape_.columns());
    }
  }
  if (frame_sum > 0 && reference_sum > 0) gain = reference_sum / frame_sum;
}

void FieldEstimator::solve_whole(const Level& level, ShiftField& field, Workspace& work) const {
  const Step step = solve(total(level.n), total(level.x), total(level.y), total(level.xx),
                          total(level.xy), total(level.yy), total(work.grids[0]),
                          total(work.grids[1]), total(work.grids[2]), total(work.grids[3]),
                          options_.prior_px);
  field.whole.x_px += static_cast<double>(limited(step.x_px));
  field.whole.y_px += static_cast<double>(limited(step.y_px));
}

void FieldEstimator::solve_windows(const Level& level, ShiftField& field, Workspace& work) const {
  for (auto& grid : work.grids) level.window[0].apply(grid, work.scratch);
  for (std::size_t i = 0; i < level.n.size(); ++i) {
    const auto at = [i](const std::vector<float>& grid) { return static_cast<double>(grid[i]); };
    const Step step = solve(at(level.n), at(level.x), at(level.y), at(level.xx), at(level.xy),
                            at(level.yy), at(work.grids[0]), at(work.grids[1]), at(work.grids[2]),
                            at(work.grids[3]), options_.prior_px);
    field.local_x[i] += limited(step.x_px);
    field.local_y[i] += limited(step.y_px);
  }
}

FieldEstimate FieldEstimator::estimate(const PaddedFrame& frame, ShiftField start, double gain,
                                       Workspace& work) const {
  FieldEstimate out{std::move(start), gain, 0};
  for (const Level& level : levels_) {
    for (int i = 0; i < level.level.iterations; ++i) {
      collect(frame, out.field, out.gain, work);
      const double n = std::max(total(n_), 1.0);
      out.residual_rms = std::sqrt(std::max(total(work.grids[3]), 0.0) / n);
      if (level.window.empty()) {
        solve_whole(level, out.field, work);
      } else {
        solve_windows(level, out.field, work);
      }
    }
  }
  return out;
}

}  // namespace lull::align
