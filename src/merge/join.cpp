#include "merge/join.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/error.h"
#include "merge/covered.h"
#include "spectrum/frc.h"

namespace lull::merge {

namespace {

constexpr int kLeastSide = 32;

// One stack, on the grid.
struct OnGrid {
  Light light;
  Plane shown;     // 1 where there is light of it
  Plane pictured;  // 1 where its picture is
  Part part;
  Placement placed;
};

Box whole_of(Size size) { return {0, 0, size.width_px, size.height_px}; }

Placement place(const FilterStack& grid, const FilterStack& stack, Bend bend) {
  if (&grid == &stack) return in_place(grid.light.light.size());
  SimilaritySearch search;
  search.scale = stack.scale / grid.scale;
  auto found = register_picture(grid.light.light.view(), stack.light.light.view(), search, bend);
  if (found.ok()) return std::move(found).value();
  throw NothingUsable(
      found.reason() == Reject::no_structure
          ? fmt::format("{} and {} cannot be registered: at least one of them shows no detail",
                        stack.name, grid.name)
          : fmt::format(
                "{} and {} do not show the same: their detail does not agree at any shift, "
                "turn and scale that is looked for. Give stacks of one object, of one night",
                stack.name, grid.name));
}

Displacement middle_of(const Box& box) {
  return {0.5 * (box.x0 + box.x1 - 1), 0.5 * (box.y0 + box.y1 - 1)};
}

OnGrid bring(const FilterStack& grid, const FilterStack& stack, const JoinOptions& options) {
  OnGrid out;
  out.placed = place(grid, stack, options.bend);
  out.part.whole = out.placed.whole;
  const Displacement middle = middle_of(grid.picture);
  out.part.shift = out.placed.whole.seen_at(middle.x_px, middle.y_px) - middle_of(stack.picture);
  out.shown = out.placed.covered(whole_of(stack.light.light.size()));
  out.pictured = out.placed.covered(stack.picture);
  if (&grid == &stack) {
    out.light = {Plane::copy_of(stack.light.light.view()),
                 Plane::copy_of(stack.light.noise.view())};
    return out;
  }
  if (options.blur == BlurMatch::to_the_grid)
    out.part.gains = gains_to(grid.sharpness, stack.sharpness, out.placed.whole.scale);
  const auto moved = [&](const Plane& plane) {
    const Plane brought = out.placed.brought(align::SplinePlane(plane.view()));
    return through(brought.view(), out.part.gains);
  };
  out.light = {moved(stack.light.light), moved(stack.light.noise)};
  return out;
}

std::vector<PlaneView> views(const std::vector<OnGrid>& all, Plane OnGrid::*mask) {
  std::vector<PlaneView> out;
  for (const OnGrid& one : all) out.push_back((one.*mask).view());
  return out;
}

Plane cropped(const Plane& plane, const Box& box) { return Plane::copy_of(plane.view().crop(box)); }

spectrum::FrcCurve frc_of(const Light& light, const Box& box) {
  const auto half = [&](float sign) {
    return weighted_sum(light.light.view().crop(box), sign, light.noise.view().crop(box));
  };
  return spectrum::fourier_ring_correlation(half(1).view(), half(-1).view());
}

double bent_rms(const Placement& placed, const Box& box) {
  constexpr int kStep = 8;
  double sum = 0;
  std::int64_t count = 0;
  for (int y = box.y0; y < box.y1; y += kStep) {
    for (int x = box.x0; x < box.x1; x += kStep) {
      const FrameOffset at = placed.field.at(x, y);
      sum += at.x_px * at.x_px + at.y_px * at.y_px;
      ++count;
    }
  }
  return count > 0 ? std::sqrt(sum / static_cast<double>(count)) : 0;
}

Box moved(const Box& box, int x, int y) { return {box.x0 - x, box.y0 - y, box.x1 - x, box.y1 - y}; }

void require_overlap(const Box& picture, const Box& of) {
  if (std::min(picture.width_px(), picture.height_px()) >= kLeastSide) return;
  throw NothingUsable(fmt::format(
      "the stacks have only {} x {} of {} x {} px in common; at least {} a side are needed",
      std::max(picture.width_px(), 0), std::max(picture.height_px(), 0), of.width_px(),
      of.height_px(), kLeastSide));
}

}  // namespace

Joined join(std::vector<FilterStack> stacks, const JoinOptions& options, const Progress& progress) {
  const FilterStack& grid = stacks[grid_of(stacks.size())];
  std::vector<OnGrid> all;
  const auto count = static_cast<std::int64_t>(stacks.size());
  for (const FilterStack& stack : stacks) {
    progress.step("registering", std::ssize(all), count);
    all.push_back(bring(grid, stack, options));
  }
  progress.step("registering", count, count);
  const Box picture = covered_box(views(all, &OnGrid::pictured), grid.picture);
  require_overlap(picture, grid.picture);
  const Box shown = covered_box(views(all, &OnGrid::shown), whole_of(grid.light.light.size()));
  progress.step("joining colours", 0, 1);
  Joined out;
  for (std::size_t c = 0; c < 3; ++c) out.colours[c] = std::move(all[c].light);
  if (all.size() > kLuminance)
    add_luminance(out.colours, all[kLuminance].light, frc_of(mean_of(out.colours), picture));
  out.frc = frc_of(mean_of(out.colours), picture);
  const Box canvas = shown.intersection(picture) == picture ? shown : picture;
  for (Light& colour : out.colours)
    colour = {cropped(colour.light, canvas), cropped(colour.noise, canvas)};
  out.picture = moved(picture, canvas.x0, canvas.y0);
  out.of_grid = moved(picture, grid.picture.x0, grid.picture.y0);
  for (OnGrid& one : all) {
    one.part.bent_rms_px = bent_rms(one.placed, picture);
    out.parts.push_back(std::move(one.part));
  }
  progress.step("joining colours", 1, 1);
  return out;
}

}  // namespace lull::merge
