#include "survey/observer.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "core/error.h"
#include "core/parallel.h"
#include "quality/cell_grid.h"
#include "quality/combined.h"
#include "quality/luminance.h"
#include "quality/noise.h"
#include "quality/ranking.h"
#include "quality/reduce.h"
#include "quality/structure.h"

namespace lull::survey {

namespace {

using capture::Colour;
using capture::Frame;
using quality::TargetKind;

constexpr std::size_t kMostGroupFrames = 32;  // observed at the same time
constexpr std::size_t kGroupPixels = std::size_t{128} << 20U;
constexpr int kReducedSidePx = 256;  // tracking needs no more
constexpr int kCutRows = 4;          // that many more dead rows than others have: cut short

quality::Metric suited_metric(TargetKind target) {
  return target == TargetKind::disc ? quality::Metric::coarse : quality::Metric::fine;
}

int reduction_for(Size size) {
  const int side = std::max(size.width_px, size.height_px);
  int reduction = side > 2 * kReducedSidePx ? 4 : 2;
  while (side / reduction > kReducedSidePx) reduction *= 2;
  return reduction;
}

}  // namespace

void check_frame_size(const capture::CaptureInfo& info) {
  if (std::min(info.size.width_px, info.size.height_px) >= 2 * quality::kCellPx) return;
  throw NothingUsable(
      fmt::format("{}: frames of {} x {} px are too small to rank and register; at least {} px "
                  "a side are needed",
                  info.path, info.size.width_px, info.size.height_px, 2 * quality::kCellPx));
}

Observer::Observer(const capture::CaptureInfo& info, const std::vector<Frame>& first,
                   std::optional<quality::Metric> metric)
    : info_(info) {
  check_frame_size(info);
  const Size size = first[0].size();
  reduction_ = reduction_for(size);
  std::vector<Plane> reduced(first.size());
  for_frames(first, [&](std::size_t i, Workspace& work) {
    const quality::Luminance light = quality::luminance(first[i], info_, work.luminance);
    quality::halve(light.view, work.measure.half);
    quality::quarter(work.measure.half, work.measure.quarter);
    reduced[i] = reduce(light, work);
  });
  std::vector<PlaneView> views;
  views.reserve(reduced.size());
  for (const Plane& plane : reduced) views.push_back(plane.view());
  reduced_size_ = views[0].size();
  target_ = quality::recognise_target(views);
  metric_ = metric.value_or(suited_metric(target_.kind));
  if (metric) {
    metrics_ = {*metric};
  } else {
    metrics_.assign(quality::kCombined.begin(), quality::kCombined.end());
  }
  noise_gain_ = quality::noise_gain(metric_, info_.colour);
}

// Calls body(index of the frame, workspace) for every frame, in parallel groups: memory for
// workspaces is bounded, and since frames do not depend on each other, nothing else changes.
template <class Body>
void Observer::for_frames(const std::vector<Frame>& frames, const Body& body) {
  const auto area = static_cast<std::size_t>(frames[0].size().area_px());
  const std::size_t group =
      std::clamp<std::size_t>(kGroupPixels / std::max<std::size_t>(area, 1), 1, kMostGroupFrames);
  const std::size_t count = frames.size();
  workspaces_.resize(std::max(workspaces_.size(), std::min(group, count)));
  for (std::size_t first = 0; first < count; first += group) {
    parallel_for(static_cast<std::int64_t>(std::min(group, count - first)), [&](std::int64_t n) {
      const auto i = static_cast<std::size_t>(n);
      body(first + i, workspaces_[i]);
    });
  }
}

void Observer::observe(const std::vector<Frame>& frames, std::vector<Observation>& out) {
  out.resize(frames.size());
  if (frames.empty()) return;
  for_frames(frames, [&](std::size_t i, Workspace& work) { observe_one(frames[i], work, out[i]); });
}

// The reduced frame in light. halve() and quarter() of the frame must be in the workspace.
Plane Observer::reduce(const quality::Luminance& light, Workspace& work) const {
  Plane plane;
  if (reduction_ == 2) {
    quality::to_plane(work.measure.half, plane);
  } else {
    plane = Plane::copy_of(work.measure.quarter.view());
  }
  for (int factor = 4; factor < reduction_; factor *= 2) {
    Plane smaller;
    quality::halve(plane.view(), smaller);
    plane = std::move(smaller);
  }
  const auto black = static_cast<float>(light.scale.black);
  const auto per_unit = static_cast<float>(light.scale.per_unit);
  const float share = 1.0F / static_cast<float>(reduction_ * reduction_);
  for (int y = 0; y < plane.height(); ++y) {
    float* row = plane.row(y);
    for (int x = 0; x < plane.width(); ++x) row[x] = (row[x] * share - black) * per_unit;
  }
  return plane;
}

// Cells in light.
void Observer::measure(const quality::Luminance& light, Workspace& work, Observation& out) const {
  const auto per_unit = static_cast<float>(light.scale.per_unit);
  out.cells = quality::measure(light, metric_, work.measure);
  const float squared = per_unit * per_unit;
  const auto in_light = [squared](quality::CellGrid& energy) {
    for (float& value : energy.values()) value *= squared;
  };
  in_light(out.cells.energy);
  for (float& value : out.cells.mean.values())
    value = static_cast<float>(light.scale.to_light(static_cast<double>(value)));
  out.energies.clear();
  for (const quality::Metric metric : metrics_) {
    if (metric == metric_) {
      out.energies.push_back(out.cells.energy);
      continue;
    }
    out.energies.push_back(quality::energy_of_measured(light, metric, work.measure));
    in_light(out.energies.back());
  }
}

void Observer::observe_one(const Frame& frame, Workspace& work, Observation& out) const {
  const quality::Luminance light = quality::luminance(frame, info_, work.luminance);
  measure(light, work, out);
  out.reduced = reduce(light, work);
  out.brightness = quality::object_brightness(out.reduced.view(), target_, work.scratch);
  const bool cfa = info_.colour == Colour::cfa;
  const double lit_stored = target_.lit / info_.scale.per_unit + info_.scale.black;
  out.noise =
      info_.scale.per_unit * quality::noise_sigma(frame.planes[info_.colour == Colour::rgb ? 1 : 0],
                                                  cfa ? 2 : 1, lit_stored, work.scratch);
  out.dead_rows = frame.dead_rows ? *frame.dead_rows : capture::dead_rows(frame.planes[0]);
  out.shows_object = target_.kind == TargetKind::disc ||
                     quality::shows_structure(out.reduced.view(), reduction_, out.noise);
}

double Observer::sharpness(const Observation& seen) const {
  return quality::frame_sharpness(seen.cells, noise_gain_ * seen.noise * seen.noise,
                                  seen.brightness, target_.object);
}

quality::FrameEnergies Observer::energies(const Observation& seen) const {
  return quality::frame_energies(seen.cells, seen.energies, seen.brightness, target_.object);
}

bool Observer::cut_short(const Observation& seen, double typical_dead_rows) const {
  if (seen.dead_rows <= typical_dead_rows + kCutRows) return false;
  if (target_.kind == TargetKind::field) return true;
  const int last_live = info_.size.height_px - seen.dead_rows - 1;
  const PlaneView reduced = seen.reduced.view();
  const auto object = static_cast<float>(target_.object);
  const int from = std::clamp(last_live / reduction_ - 1, 0, reduced.height_px - 1);
  const int to = std::clamp(last_live / reduction_, 0, reduced.height_px - 1);
  for (int y = from; y <= to; ++y) {
    const float* row = reduced.row(y);
    if (std::any_of(row, row + reduced.width_px, [object](float v) { return v >= object; }))
      return true;
  }
  return false;
}

}  // namespace lull::survey
