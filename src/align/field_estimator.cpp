#include "align/field_estimator.h"

#include <algorithm>
#include <cmath>
#include <iterator>
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

// Solves the windowed normal equations of one window. The means of both sides are subtracted.
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
  const double damping =
      kCorrelatedPx * variance / (prior_px * prior_px) + 1e-12 * (a11 + a22) + 1e-30;
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

FieldEstimator::FieldEstimator(PlaneView reference, PlaneView valid, FieldOptions options)
    : reference_(Plane::copy_of(reference)),
      valid_(Plane::copy_of(valid)),
      gradient_x_(reference.size()),
      gradient_y_(reference.size()),
      options_(std::move(options)),
      shape_(reference.size()) {
  for (int y = 1; y < reference.height_px - 1; ++y) {
    const float* up = reference_.row(y - 1);
    const float* mid = reference_.row(y);
    const float* down = reference_.row(y + 1);
    const float* ok = valid_.row(y);
    const float* ok_up = valid_.row(y - 1);
    const float* ok_down = valid_.row(y + 1);
    for (int x = 1; x < reference.width_px - 1; ++x) {
      // No gradient across the edge of the data.
      const float all = ok[x - 1] * ok[x] * ok[x + 1] * ok_up[x] * ok_down[x];
      gradient_x_.row(y)[x] = all * 0.5F * (mid[x + 1] - mid[x - 1]);
      gradient_y_.row(y)[x] = all * 0.5F * (down[x] - up[x]);
    }
  }
  for (const FieldLevel& level : options_.levels) add_level(level);
  search_.emplace(reference_.view(), gradient_x_.view(), gradient_y_.view(), options_.noise,
                  options_.search);
}

void FieldEstimator::add_level(const FieldLevel& level) {
  Level out;
  out.level = level;
  const auto nodes = shape_.local_x.size();
  for (auto* grid : {&out.n, &out.x, &out.y, &out.xx, &out.xy, &out.yy}) grid->assign(nodes, 0.0F);
  for (int y = 0; y < reference_.height(); y += level.row_step) {
    for (int x = 0; x < reference_.width(); ++x) {
      const auto node =
          static_cast<std::size_t>(std::ptrdiff_t{y / kNode} * shape_.columns() + x / kNode);
      const float gx = gradient_x_.row(y)[x];
      const float gy = gradient_y_.row(y)[x];
      out.n[node] += valid_.row(y)[x];
      out.x[node] += gx;
      out.y[node] += gy;
      out.xx[node] += gx * gx;
      out.xy[node] += gx * gy;
      out.yy[node] += gy * gy;
    }
  }
  if (level.window_sigma_px > 0) {
    out.window.emplace_back(shape_.columns(), shape_.rows(), level.window_sigma_px);
    std::vector<float> scratch;
    for (auto* grid : {&out.n, &out.x, &out.y, &out.xx, &out.xy, &out.yy}) {
      out.window[0].apply(*grid, scratch);
    }
  }
  levels_.push_back(std::move(out));
}

void FieldEstimator::collect(const PaddedFrame& frame, const ShiftField& field, int row_step,
                             double& gain, Workspace& work) const {
  const int width = reference_.width();
  const auto pitch = field.row_size();
  for (auto* row : {&work.x, &work.y, &work.sampled, &work.valid}) row->resize(pitch);
  work.sums.resize(std::size(work.grids) * pitch);
  for (auto& grid : work.grids) grid.assign(shape_.local_x.size(), 0.0F);
  const auto frame_width = static_cast<float>(frame.size().width_px);
  const auto frame_height = static_cast<float>(frame.size().height_px);
  for (int r = 0; r < shape_.rows(); ++r) {
    std::fill(work.sums.begin(), work.sums.end(), 0.0F);
    for (int y = r * kNode; y < std::min((r + 1) * kNode, reference_.height()); y += row_step) {
      field.coordinates(y, work.x.data(), work.y.data());
      kernels::sample_cubic()(frame.origin(), frame.stride_elems(), work.x.data(), work.y.data(),
                              width, frame_width, frame_height, work.sampled.data());
      kernels::inside()(work.x.data(), work.y.data(), valid_.row(y), frame_width - 1,
                        frame_height - 1, width, work.valid.data());
      kernels::add_products()(work.sampled.data(), reference_.row(y), gradient_x_.row(y),
                              gradient_y_.row(y), work.valid.data(), static_cast<float>(gain),
                              width, work.sums.data(), static_cast<std::ptrdiff_t>(pitch));
    }
    for (std::size_t i = 0; i < std::size(work.grids); ++i) {
      add_to_nodes(work.sums.data() + i * pitch, width, shape_.columns(),
                   work.grids[i].data() + static_cast<std::ptrdiff_t>(r) * shape_.columns());
    }
  }
  // sum(e) = gain * sum(frame) - sum(reference): the gain for which it would be zero.
  const double reference_sum = total(work.grids[4]);
  const double frame_sum = (total(work.grids[0]) + reference_sum) / gain;
  if (frame_sum > 0 && reference_sum > 0) gain = reference_sum / frame_sum;
}

void FieldEstimator::solve_whole(const Level& level, ShiftField& field, Workspace& work) const {
  const Step step =
      solve(total(level.n), total(level.x), total(level.y), total(level.xx), total(level.xy),
            total(level.yy), total(work.grids[0]), total(work.grids[1]), total(work.grids[2]),
            total(work.grids[3]), options_.prior_px);
  const Displacement moved = field.turned(
      {static_cast<double>(limited(step.x_px)), static_cast<double>(limited(step.y_px))});
  field.whole.x_px += moved.x_px;
  field.whole.y_px += moved.y_px;
}

void FieldEstimator::solve_windows(const Level& level, ShiftField& field, Workspace& work) const {
  for (int i = 0; i < 4; ++i) level.window[0].apply(work.grids[i], work.scratch);
  for (std::size_t i = 0; i < level.n.size(); ++i) {
    const auto at = [i](const std::vector<float>& grid) { return static_cast<double>(grid[i]); };
    const Step step = solve(at(level.n), at(level.x), at(level.y), at(level.xx), at(level.xy),
                            at(level.yy), at(work.grids[0]), at(work.grids[1]), at(work.grids[2]),
                            at(work.grids[3]), options_.prior_px);
    field.local_x[i] += limited(step.x_px);
    field.local_y[i] += limited(step.y_px);
  }
}

FieldEstimate FieldEstimator::estimate(const PaddedFrame& frame, FieldEstimate start,
                                       LevelsUsed levels, Workspace& work) const {
  FieldEstimate out = std::move(start);
  bool searched = false;
  for (const Level& level : levels_) {
    if (levels == LevelsUsed::finest && &level != &levels_.back()) continue;
    const bool first_local = !level.window.empty() && !searched && levels == LevelsUsed::all;
    if (first_local) {
      search_->search(frame, out.field, work.search);
      searched = true;
    }
    for (int i = 0; i < level.level.iterations; ++i) {
      collect(frame, out.field, level.level.row_step, out.gain, work);
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
