#include "align/patch_search.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "align/field_kernels.h"
#include "core/statistics.h"

namespace lull::align {

namespace {

// Weight of a prior of no local shift, among the patches near a node: keeps the field small where
// all patches are far.
constexpr float kPriorWeight = 0.5F;

// Largest expected error of the shift of a patch: noise over the root of the smaller eigenvalue.
double expected_error(PlaneView gx, PlaneView gy, double noise) {
  double xx = 0;
  double xy = 0;
  double yy = 0;
  for (int y = 0; y < gx.height_px; ++y) {
    for (int x = 0; x < gx.width_px; ++x) {
      const auto dx = static_cast<double>(gx.row(y)[x]);
      const auto dy = static_cast<double>(gy.row(y)[x]);
      xx += dx * dx;
      xy += dx * dy;
      yy += dy * dy;
    }
  }
  const double mean = 0.5 * (xx + yy);
  const double smaller = mean - std::sqrt(0.25 * (xx - yy) * (xx - yy) + xy * xy);
  return noise / std::sqrt(std::max(smaller, 1e-30));
}

// The box, moved. None where it is not all in the frame.
std::optional<PlaneView> part_of(const PaddedFrame& frame, const Box& box, int right, int down) {
  const Box moved{box.x0 + right, box.y0 + down, box.x1 + right, box.y1 + down};
  const Size size = frame.size();
  if (moved.intersection({0, 0, size.width_px, size.height_px}) != moved) return std::nullopt;
  return frame.view().crop(moved);
}

// What the frame shows of the box by the field's turn and shift. None where that is not all in it.
std::optional<PlaneView> turned_back(const PaddedFrame& frame, const Box& box,
                                     const ShiftField& field, PatchSearch::Workspace& work) {
  const Size size = frame.size();
  for (const int x : {box.x0, box.x1 - 1}) {
    for (const int y : {box.y0, box.y1 - 1}) {
      const FrameOffset offset = field.rigid_at(x, y);
      const double at_x = x + offset.x_px;
      const double at_y = y + offset.y_px;
      if (at_x < 0 || at_y < 0 || at_x > size.width_px - 1 || at_y > size.height_px - 1)
        return std::nullopt;
    }
  }
  const Size side{box.width_px(), box.height_px()};
  const auto count = static_cast<std::size_t>(side.width_px);
  if (work.turned.size() != side) work.turned = Plane(side);
  work.x.resize(count);
  work.y.resize(count);
  for (int y = box.y0; y < box.y1; ++y) {
    std::iota(work.x.begin(), work.x.end(), static_cast<float>(box.x0));
    std::fill(work.y.begin(), work.y.end(), static_cast<float>(y));
    field.move(work.x.data(), work.y.data(), count);
    kernels::sample_cubic()(frame.origin(), frame.stride_elems(), work.x.data(), work.y.data(),
                            side.width_px, static_cast<float>(size.width_px),
                            static_cast<float>(size.height_px), work.turned.row(y - box.y0));
  }
  return std::as_const(work.turned).view();
}

}  // namespace

PatchSearch::PatchSearch(PlaneView reference, PlaneView gradient_x, PlaneView gradient_y,
                         double noise, const PatchSearchOptions& options)
    : options_(options) {
  const int side = options.side_px;
  if (reference.width_px < side || reference.height_px < side) return;
  const double area = static_cast<double>(reference.size().area_px());
  options_.spacing_px =
      std::max(options.spacing_px, static_cast<int>(std::sqrt(area / options.most_patches)));
  const auto places = [&](int length) { return (length - side) / options_.spacing_px + 1; };
  const int columns = places(reference.width_px);
  const int rows = places(reference.height_px);
  const int left = (reference.width_px - side - (columns - 1) * options_.spacing_px) / 2;
  const int top = (reference.height_px - side - (rows - 1) * options_.spacing_px) / 2;
  PatchCorrelator correlator({side, side});
  for (int r = 0; r < rows; ++r) {
    for (int c = 0; c < columns; ++c) {
      Patch patch{left + c * options_.spacing_px, top + r * options_.spacing_px, c, r, {}};
      const Box box{patch.left, patch.top, patch.left + side, patch.top + side};
      const double error = expected_error(gradient_x.crop(box), gradient_y.crop(box), noise);
      if (error > options.worst_expected_px) continue;
      correlator.transform(reference.crop(box), patch.spectrum);
      patches_.push_back(std::move(patch));
    }
  }
}

PatchSearch::Found PatchSearch::correlate(const Patch& patch, const PaddedFrame& frame,
                                          const ShiftField& field, Workspace& work) const {
  const int side = options_.side_px;
  const Box box{patch.left, patch.top, patch.left + side, patch.top + side};
  std::optional<PlaneView> seen;
  Displacement cut;
  if (field.turn == 0) {
    const Displacement whole{std::round(field.whole.x_px), std::round(field.whole.y_px)};
    seen = part_of(frame, box, static_cast<int>(whole.x_px), static_cast<int>(whole.y_px));
    cut = whole - field.whole.displacement();
  } else {
    seen = turned_back(frame, box, field, work);
  }
  if (!seen) return {};
  if (!work.correlator) work.correlator.emplace(Size{side, side});
  work.correlator->transform(*seen, work.spectrum);
  const int reach = static_cast<int>(options_.reach_px);
  const spectrum::CorrelationPeak peak =
      work.correlator->correlate(patch.spectrum, work.spectrum, reach, reach);
  if (!(peak.over_rms >= options_.least_peak)) return {};
  return {true, {peak.at.x_px + cut.x_px, peak.at.y_px + cut.y_px}, peak.over_rms};
}

void PatchSearch::drop_outliers(std::vector<Found>& found) const {
  const std::vector<Found> before = found;
  for (std::size_t i = 0; i < found.size(); ++i) {
    if (!before[i].used) continue;
    std::vector<double> x;
    std::vector<double> y;
    for (std::size_t k = 0; k < found.size(); ++k) {
      const bool near = std::abs(patches_[k].column - patches_[i].column) <= 1 &&
                        std::abs(patches_[k].row - patches_[i].row) <= 1;
      if (!before[k].used || !near || k == i) continue;
      x.push_back(before[k].offset.x_px);
      y.push_back(before[k].offset.y_px);
    }
    if (x.size() < 2) {
      found[i].used = false;  // no neighbour confirms it
      continue;
    }
    const FrameOffset typical{median(x), median(y)};
    const FrameOffset off = before[i].offset - typical;
    found[i].used = std::hypot(off.x_px, off.y_px) <= options_.neighbour_px;
  }
}

void PatchSearch::join(const std::vector<Found>& found, ShiftField& field) const {
  const auto nodes = field.local_x.size();
  std::vector<float> weight(nodes);
  std::vector<float> x(nodes);
  std::vector<float> y(nodes);
  for (std::size_t i = 0; i < found.size(); ++i) {
    if (!found[i].used) continue;
    const int c = (patches_[i].left + options_.side_px / 2) / ShiftField::kNodePx;
    const int r = (patches_[i].top + options_.side_px / 2) / ShiftField::kNodePx;
    const auto node = static_cast<std::size_t>(std::ptrdiff_t{r} * field.columns() + c);
    const auto w = static_cast<float>(found[i].weight);
    weight[node] += w;
    x[node] += w * static_cast<float>(found[i].offset.x_px);
    y[node] += w * static_cast<float>(found[i].offset.y_px);
  }
  const NodeWindow window(field.columns(), field.rows(), 0.6 * options_.spacing_px);
  std::vector<float> scratch;
  for (auto* grid : {&weight, &x, &y}) window.apply(*grid, scratch);
  for (std::size_t n = 0; n < nodes; ++n) {
    field.local_x[n] = x[n] / (weight[n] + kPriorWeight);
    field.local_y[n] = y[n] / (weight[n] + kPriorWeight);
  }
}

int PatchSearch::search(const PaddedFrame& frame, ShiftField& field, Workspace& workspace) const {
  std::vector<Found> found;
  found.reserve(patches_.size());
  for (const Patch& patch : patches_) {
    found.push_back(correlate(patch, frame, field, workspace));
  }
  drop_outliers(found);
  join(found, field);
  return static_cast<int>(
      std::count_if(found.begin(), found.end(), [](const Found& f) { return f.used; }));
}

}  // namespace lull::align
