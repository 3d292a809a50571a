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
// Beyond the edge of the data by this much of its weight, a blurred sample is not used.
constexpr float kLeastData = 0.98F;

// Half of a Gaussian of unit sum.
std::vector<float> gaussian(double sigma) {
  std::vector<float> taps{1};
  const int radius = static_cast<int>(std::ceil(2.7 * sigma));
  float sum = 1;
  for (int k = 1; k <= radius; ++k) {
    taps.push_back(static_cast<float>(std::exp(-0.5 * k * k / (sigma * sigma))));
    sum += 2 * taps.back();
  }
  for (float& tap : taps) tap /= sum;
  return taps;
}

// Samples beyond the edges are those at the edges.
void blur(PlaneView in, const std::vector<float>& taps, std::vector<float>& line, Plane& across,
          MutablePlaneView out) {
  const int radius = static_cast<int>(taps.size()) - 1;
  const int width = in.width_px;
  const Size tall{width, in.height_px + 2 * radius};
  // The levels of a frame take turns; the tallest one's memory serves all of them.
  if (across.width() != width || across.height() < tall.height_px) across = Plane(tall);
  line.resize(static_cast<std::size_t>(width + std::ptrdiff_t{2} * radius));
  for (int y = 0; y < in.height_px; ++y) {
    const float* row = in.row(y);
    std::fill_n(line.begin(), radius, row[0]);
    std::copy_n(row, width, line.begin() + radius);
    std::fill_n(line.begin() + radius + width, radius, row[width - 1]);
    kernels::blur()(line.data() + radius, 1, taps.data(), radius, width, across.row(radius + y));
  }
  for (int y = 0; y < radius; ++y) {
    std::copy_n(across.row(radius), width, across.row(y));
    std::copy_n(across.row(radius + in.height_px - 1), width,
                across.row(radius + in.height_px + y));
  }
  for (int y = 0; y < in.height_px; ++y) {
    kernels::blur()(std::as_const(across).row(radius + y), across.view().stride_elems, taps.data(),
                    radius, width, out.row(y));
  }
}

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
      valid_(Plane::copy_of(valid)) {
  Level sharp;
  levels_.resize(options_.levels.size());
  parallel_for(std::ssize(levels_) + 1, [&](std::int64_t i) {
    if (i == 0) {
      sharp = level_at({}, reference);
      return;
    }
    const auto at = static_cast<std::size_t>(i - 1);
    levels_[at] = level_at(options_.levels[at], reference);
    add_sums(levels_[at]);
  });
  search_.emplace(reference, sharp.gradient_x.view(), sharp.gradient_y.view(), options_.noise,
                  options_.search);
}

// Without the sums.
FieldEstimator::Level FieldEstimator::level_at(const FieldLevel& level, PlaneView reference) const {
  const Size size = reference.size();
  Level out;
  out.level = level;
  out.reference = Plane::copy_of(reference);
  for (Plane* plane : {&out.gradient_x, &out.gradient_y, &out.curvature}) *plane = Plane(size);
  Plane known = Plane::copy_of(valid_.view());
  if (level.blur_px > 0) {
    out.taps = gaussian(level.blur_px);
    std::vector<float> line;
    Plane across;
    blur(reference, out.taps, line, across, out.reference.view());
    blur(valid_.view(), out.taps, line, across, known.view());
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x)
        known.row(y)[x] = known.row(y)[x] >= kLeastData ? 1.0F : 0.0F;
    }
  }
  for (int y = 1; y < size.height_px - 1; ++y) {
    const float* up = out.reference.row(y - 1);
    const float* mid = out.reference.row(y);
    const float* down = out.reference.row(y + 1);
    const float* ok = known.row(y);
    for (int x = 1; x < size.width_px - 1; ++x) {
      // No gradient across the edge of the data.
      const float all = ok[x - 1] * ok[x] * ok[x + 1] * known.row(y - 1)[x] * known.row(y + 1)[x];
      out.gradient_x.row(y)[x] = all * 0.5F * (mid[x + 1] - mid[x - 1]);
      out.gradient_y.row(y)[x] = all * 0.5F * (down[x] - up[x]);
      out.curvature.row(y)[x] = all * (mid[x - 1] + mid[x + 1] + up[x] + down[x] - 4 * mid[x]);
    }
  }
  return out;
}

void FieldEstimator::add_sums(Level& out) const {
  const Size size = out.reference.size();
  const auto nodes = shape_.local_x.size();
  for (auto* grid :
       {&out.n, &out.x, &out.y, &out.xx, &out.xy, &out.yy, &out.c, &out.cx, &out.cy, &out.cc})
    grid->assign(nodes, 0.0F);
  for (int y = 0; y < size.height_px; y += out.level.row_step) {
    for (int x = 0; x < size.width_px; ++x) {
      const auto node =
          static_cast<std::size_t>(std::ptrdiff_t{y / kNode} * shape_.columns() + x / kNode);
      const float gx = out.gradient_x.row(y)[x];
      const float gy = out.gradient_y.row(y)[x];
      const float curvature = out.curvature.row(y)[x];
      out.n[node] += valid_.row(y)[x];
      out.x[node] += gx;
      out.y[node] += gy;
      out.xx[node] += gx * gx;
      out.xy[node] += gx * gy;
      out.yy[node] += gy * gy;
      out.c[node] += curvature;
      out.cx[node] += curvature * gx;
      out.cy[node] += curvature * gy;
      out.cc[node] += curvature * curvature;
    }
  }
  std::vector<float> scratch;
  out.n_wide = out.n;
  wide_.apply(out.n_wide, scratch);
  out.n_near = out.n;
  near_.apply(out.n_near, scratch);
}

const PaddedFrame& FieldEstimator::seen_at(const Level& level, const PaddedFrame& frame,
                                           Workspace& work) const {
  if (level.taps.empty()) return frame;
  blur(frame.view(), level.taps, work.line, work.blurred_across, work.blurred.resize(frame.size()));
  work.blurred.repeat_edges();
  return work.blurred;
}

void FieldEstimator::collect(const Level& level, const PaddedFrame& frame, const ShiftField& field,
                             double& gain, Workspace& work) const {
  const Size size = level.reference.size();
  const auto pitch = field.row_size();
  for (auto* row : {&work.x, &work.y, &work.sampled, &work.valid}) row->resize(pitch);
  work.sums.resize(std::size(work.grids) * pitch);
  for (auto& grid : work.grids) grid.assign(shape_.local_x.size(), 0.0F);
  const auto frame_width = static_cast<float>(frame.size().width_px);
  const auto frame_height = static_cast<float>(frame.size().height_px);
  for (int r = 0; r < shape_.rows(); ++r) {
    std::fill(work.sums.begin(), work.sums.end(), 0.0F);
    const int end = std::min((r + 1) * kNode, size.height_px);
    for (int y = r * kNode; y < end; y += level.level.row_step) {
      field.coordinates(y, work.x.data(), work.y.data());
      kernels::sample_cubic()(frame.origin(), frame.stride_elems(), work.x.data(), work.y.data(),
                              size.width_px, frame_width, frame_height, work.sampled.data());
      kernels::inside()(work.x.data(), work.y.data(), valid_.row(y), frame_width - 1,
                        frame_height - 1, size.width_px, work.valid.data());
      kernels::add_products()(work.sampled.data(), level.reference.row(y), level.gradient_x.row(y),
                              level.gradient_y.row(y), level.curvature.row(y), work.valid.data(),
                              static_cast<float>(gain), size.width_px, work.sums.data(),
                              static_cast<std::ptrdiff_t>(pitch));
    }
    for (std::size_t i = 0; i < std::size(work.grids); ++i) {
      add_to_nodes(work.sums.data() + i * pitch, size.width_px, shape_.columns(),
                   work.grids[i].data() + static_cast<std::ptrdiff_t>(r) * shape_.columns());
    }
  }
  // sum(e) = gain * sum(frame) - sum(reference): the gain for which it would be zero.
  const double reference_sum = total(work.grids[4]);
  const double frame_sum = (total(work.grids[0]) + reference_sum) / gain;
  if (frame_sum > 0 && reference_sum > 0) gain = reference_sum / frame_sum;
}

// The normal equations of the whole frame. The means of both sides are subtracted.
void FieldEstimator::solve_whole(const Level& level, ShiftField& field, Workspace& work) const {
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
void FieldEstimator::take_off_blur(const Level& level, Workspace& work) const {
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

void FieldEstimator::observe(const Level& level, const ShiftField& field, Workspace& work) const {
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
      const auto weight = static_cast<float>(level.level.row_step / (area * left));
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
  for (const Level& level : levels_) {
    const bool first = &level == &levels_.front();
    if (first && levels == LevelsUsed::finer) continue;
    const PaddedFrame& seen = seen_at(level, frame, work);
    if (first) {
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
