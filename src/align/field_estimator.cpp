#include "align/field_estimator.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <numeric>
#include <utility>

#include "align/field_kernels.h"
#include "core/parallel.h"

namespace lull::align {

namespace {

constexpr int kNode = ShiftField::kNodePx;
constexpr float kLongestStepPx = 1.5F;
// Places of the prior: every second node.
constexpr int kCoarse = 2;
constexpr int kWholeSteps = 2;
// Residuals are correlated over about a resolution element of 3 x 3 px, so a window holds that
// many fewer independent values.
constexpr double kCorrelatedPx = 9.0;
// A Gaussian blur adds the area over which it correlates noise: 4 pi times its variance.
constexpr double kBlurredArea = 12.566;
// Windows in which the level of the light and the residual are measured.
constexpr double kLightPx = 20;
constexpr double kResidualPx = 14;
// Nothing is known better than to this, light: captures hold 16 bits at most.
constexpr double kLeastResidual = 1e-4;

// Adds rows of per-pixel sums into the squares of one row of nodes.
void add_to_nodes(const float* sums, int width, int node_px, int columns, float* nodes) {
  for (int c = 0; c < columns; ++c) {
    float sum = 0;
    for (int x = c * node_px; x < std::min((c + 1) * node_px, width); ++x) sum += sums[x];
    nodes[c] += sum;
  }
}

struct Step {
  double x_px = 0;
  double y_px = 0;
};

double total(const std::vector<float>& grid) {
  return std::accumulate(grid.begin(), grid.end(), 0.0);
}

// Gradients hold as far as the pictures are blurred, and a little farther.
float limited(double step, const FieldLevel& level) {
  const float longest = kLongestStepPx * std::max(static_cast<float>(level.blur_px), 1.0F);
  return std::clamp(static_cast<float>(step), -longest, longest);
}

Size coarse_grid(const ShiftField& shape) {
  return {(shape.columns() + kCoarse - 1) / kCoarse, (shape.rows() + kCoarse - 1) / kCoarse};
}

// Places of the prior around a node, along one axis, and their weights.
struct Around {
  int first = 0;
  std::array<float, 4> weights{};
};

// Keys' cubic convolution (1981, a = -1/2): linear interpolation takes 8% off a wave of 100 px.
// Beyond the outer places the field goes on as a straight line.
Around around(int node, int count) {
  const double place = (node + 0.5) / kCoarse - 0.5;
  const int before = static_cast<int>(std::floor(place)) - 1;
  const auto t = static_cast<float>(place - std::floor(place));
  const std::array<float, 4> cubic = {((-0.5F * t + 1) * t - 0.5F) * t,
                                      (1.5F * t - 2.5F) * t * t + 1,
                                      ((-1.5F * t + 2) * t + 0.5F) * t, (0.5F * t - 0.5F) * t * t};
  Around out;
  out.first = std::clamp(before, 0, std::max(count - 4, 0));
  const auto add = [&](int at, float weight) {
    out.weights[static_cast<std::size_t>(at - out.first)] += weight;
  };
  for (int k = 0; k < 4; ++k) {
    const int outer = std::clamp(before + k, 0, count - 1);
    const auto beyond = static_cast<float>(before + k - outer);
    const int inner = std::clamp(outer - (beyond > 0) + (beyond < 0), 0, count - 1);
    const float weight = cubic[static_cast<std::size_t>(k)];
    add(outer, weight * (1 + std::abs(beyond)));
    add(inner, -weight * std::abs(beyond));
  }
  return out;
}

}  // namespace

FieldEstimator::FieldEstimator(PlaneView reference, PlaneView valid, FieldOptions options)
    : options_(std::move(options)),
      shape_(reference.size()),
      wide_(shape_.columns(), shape_.rows(), kLightPx),
      near_(shape_.columns(), shape_.rows(), kResidualPx),
      prior_(coarse_grid(shape_), kCoarse * kNode, options_.prior),
      blurs_(options_.levels) {
  std::vector<std::optional<ReferenceLevel>> made(options_.levels.size() + 1);
  parallel_for(std::ssize(made), [&](std::int64_t i) {
    const auto at = static_cast<std::size_t>(i);
    const bool sharp = at == options_.levels.size();
    made[at].emplace(sharp ? FieldLevel{} : options_.levels[at], reference, valid);
    if (!sharp) made[at]->add_sums(shape_.columns(), shape_.rows(), wide_, near_);
  });
  search_.emplace(reference, made.back()->gradient_x.view(), made.back()->gradient_y.view(),
                  options_.noise, options_.search);
  made.pop_back();
  levels_.reserve(made.size());
  for (auto& level : made) levels_.push_back(std::move(*level));
}

void FieldEstimator::collect(const ReferenceLevel& level, const PaddedFrame& frame,
                             const ShiftField& field, double& gain, Workspace& work) const {
  const auto [blur_px, iterations, row_step, column_step, reduction] = level.level;
  const float share = 1.0F / static_cast<float>(reduction);
  const int width = level.reference.width();
  const auto pitch = field.row_size();
  for (auto* row : {&work.x, &work.y, &work.sampled, &work.valid}) row->resize(pitch);
  work.sums.resize(std::size(work.grids) * pitch);
  for (auto& grid : work.grids) grid.assign(shape_.local_x.size(), 0.0F);
  const auto frame_width = static_cast<float>(frame.size().width_px);
  const auto frame_height = static_cast<float>(frame.size().height_px);
  for (int r = 0; r < shape_.rows(); ++r) {
    std::fill(work.sums.begin(), work.sums.end(), 0.0F);
    const int end = std::min((r + 1) * kNode / row_step, level.reference.height());
    for (int at = r * kNode / row_step; at < end; ++at) {
      field.coordinates(at * row_step, work.x.data(), work.y.data());
      for (auto* row : {&work.x, &work.y})
        kernels::every()(row->data(), column_step, share, width, row->data());
      kernels::sample_cubic()(frame.origin(), frame.stride_elems(), work.x.data(), work.y.data(),
                              width, frame_width, frame_height, work.sampled.data());
      kernels::inside()(work.x.data(), work.y.data(), level.valid.row(at), frame_width - 1,
                        frame_height - 1, width, work.valid.data());
      kernels::add_products()(work.sampled.data(), level.reference.row(at),
                              level.gradient_x.row(at), level.gradient_y.row(at),
                              level.curvature.row(at), work.valid.data(), static_cast<float>(gain),
                              width, work.sums.data(), static_cast<std::ptrdiff_t>(pitch));
    }
    for (std::size_t i = 0; i < std::size(work.grids); ++i) {
      add_to_nodes(work.sums.data() + i * pitch, width, kNode / column_step, shape_.columns(),
                   work.grids[i].data() + static_cast<std::ptrdiff_t>(r) * shape_.columns());
    }
  }
  // sum(e) = gain * sum(frame) - sum(reference): the gain for which it would be zero.
  const double reference_sum = total(work.grids[4]);
  const double frame_sum = (total(work.grids[0]) + reference_sum) / gain;
  if (frame_sum > 0 && reference_sum > 0) gain = reference_sum / frame_sum;
}

// The normal equations of the whole frame. The means of both sides are subtracted.
void FieldEstimator::solve_whole(const ReferenceLevel& level, ShiftField& field,
                                 Workspace& work) const {
  const double n = total(level.n);
  if (n < 1) return;
  const double mean_e = total(work.grids[0]) / n;
  const double x = total(level.x);
  const double y = total(level.y);
  const double xx = total(level.xx) - x * x / n;
  const double xy = total(level.xy) - x * y / n;
  const double yy = total(level.yy) - y * y / n;
  const double ex = total(work.grids[1]) - mean_e * x;
  const double ey = total(work.grids[2]) - mean_e * y;
  const double variance = std::max(total(work.grids[3]) / n - mean_e * mean_e, 0.0);
  const double damping = kCorrelatedPx * variance + 1e-12 * (xx + yy) + 1e-30;
  const double d11 = xx + damping;
  const double d22 = yy + damping;
  const double determinant = d11 * d22 - xy * xy;
  const Step step{-(d22 * ex - xy * ey) / determinant, -(d11 * ey - xy * ex) / determinant};
  const Displacement moved = field.turned({static_cast<double>(limited(step.x_px, level.level)),
                                           static_cast<double>(limited(step.y_px, level.level))});
  field.whole.x_px += moved.x_px;
  field.whole.y_px += moved.y_px;
}

// Takes the level of the light and the difference in blur off the sums: what is left is shift.
void FieldEstimator::take_off_blur(const ReferenceLevel& level, Workspace& work) const {
  auto& [e, ex, ey, ee, reference, ec] = work.grids;
  std::vector<float>& mean = reference;  // no longer needed
  mean = e;
  wide_.apply(mean, work.scratch);
  double along = 0;
  for (std::size_t i = 0; i < mean.size(); ++i) {
    mean[i] = level.n_wide[i] > 0 ? mean[i] / level.n_wide[i] : 0.0F;
    ex[i] -= mean[i] * level.x[i];
    ey[i] -= mean[i] * level.y[i];
    ee[i] += mean[i] * (mean[i] * level.n[i] - 2 * e[i]);
    ec[i] -= mean[i] * level.c[i];
    along += static_cast<double>(ec[i]);
  }
  const double square = total(level.cc);
  const auto softer = square > 0 ? static_cast<float>(along / square) : 0.0F;
  for (std::size_t i = 0; i < mean.size(); ++i) {
    ex[i] -= softer * level.cx[i];
    ey[i] -= softer * level.cy[i];
    ee[i] += softer * (softer * level.cc[i] - 2 * ec[i]);
    ee[i] = std::max(ee[i], 0.0F);
  }
}

void FieldEstimator::observe(const ReferenceLevel& level, const ShiftField& field,
                             Workspace& work) const {
  const auto& [e, ex, ey, ee, unused, ec] = work.grids;
  near_.apply(work.grids[3], work.scratch);
  const double area = kCorrelatedPx + kBlurredArea * level.level.blur_px * level.level.blur_px;
  const Size grid = prior_.grid();
  ShiftPrior::Observations& seen = work.seen;
  for (auto* values : {&seen.xx, &seen.xy, &seen.yy, &seen.x, &seen.y})
    values->assign(static_cast<std::size_t>(grid.area_px()), 0.0F);
  for (int r = 0; r < shape_.rows(); ++r) {
    for (int c = 0; c < shape_.columns(); ++c) {
      const auto i = static_cast<std::size_t>(std::ptrdiff_t{r} * shape_.columns() + c);
      const auto to =
          static_cast<std::size_t>(std::ptrdiff_t{r / kCoarse} * grid.width_px + c / kCoarse);
      const double n = static_cast<double>(std::max(level.n_near[i], 1e-3F));
      const double left = static_cast<double>(ee[i]) / n + kLeastResidual * kLeastResidual;
      const auto weight =
          static_cast<float>(level.level.row_step * level.level.column_step / (area * left));
      const float dx = field.local_x[i];
      const float dy = field.local_y[i];
      seen.xx[to] += weight * level.xx[i];
      seen.xy[to] += weight * level.xy[i];
      seen.yy[to] += weight * level.yy[i];
      seen.x[to] += weight * (level.xx[i] * dx + level.xy[i] * dy - ex[i]);
      seen.y[to] += weight * (level.xy[i] * dx + level.yy[i] * dy - ey[i]);
    }
  }
}

void FieldEstimator::predict(const FieldLevel& level, ShiftPrior::Start start, ShiftField& field,
                             Workspace& work) const {
  prior_.predict(work.seen, start, work.prior, work.coarse_x, work.coarse_y);
  const Size grid = prior_.grid();
  const int wide = std::min(4, grid.width_px);
  const int high = std::min(4, grid.height_px);
  std::vector<Around> columns;
  columns.reserve(static_cast<std::size_t>(shape_.columns()));
  for (int c = 0; c < shape_.columns(); ++c) columns.push_back(around(c, grid.width_px));
  std::size_t i = 0;
  for (int r = 0; r < shape_.rows(); ++r) {
    const Around row = around(r, grid.height_px);
    for (const Around& column : columns) {
      const auto at = [&](const std::vector<float>& places) {
        const float* from =
            places.data() + std::ptrdiff_t{row.first} * grid.width_px + column.first;
        float sum = 0;
        for (int j = 0; j < high; ++j, from += grid.width_px) {
          for (int k = 0; k < wide; ++k)
            sum += row.weights[static_cast<std::size_t>(j)] *
                   column.weights[static_cast<std::size_t>(k)] * from[k];
        }
        return static_cast<double>(sum);
      };
      field.local_x[i] += limited(at(work.coarse_x) - static_cast<double>(field.local_x[i]), level);
      field.local_y[i] += limited(at(work.coarse_y) - static_cast<double>(field.local_y[i]), level);
      ++i;
    }
  }
}

FieldEstimate FieldEstimator::estimate(const PaddedFrame& frame, FieldEstimate start,
                                       LevelsUsed levels, Workspace& work) const {
  FieldEstimate out = std::move(start);
  auto from = ShiftPrior::Start::zero;
  const std::size_t coarsest = levels == LevelsUsed::finer ? 1 : 0;
  blurs_.apply(frame, coarsest, work.blurs);
  for (std::size_t l = coarsest; l < levels_.size(); ++l) {
    const ReferenceLevel& level = levels_[l];
    const PaddedFrame& seen = work.blurs.frames[l];
    if (l == 0) {
      for (int i = 0; i < kWholeSteps; ++i) {
        collect(level, seen, out.field, out.gain, work);
        solve_whole(level, out.field, work);
      }
      search_->search(frame, out.field, work.search);
    }
    for (int i = 0; i < level.level.iterations; ++i) {
      collect(level, seen, out.field, out.gain, work);
      take_off_blur(level, work);
      observe(level, out.field, work);
      predict(level.level, from, out.field, work);
      from = ShiftPrior::Start::last;
    }
  }
  return out;
}

}  // namespace lull::align
