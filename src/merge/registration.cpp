#include "merge/registration.h"

#include <cmath>
#include <utility>
#include <vector>

#include "align/field_estimator.h"
#include "core/parallel.h"
#include "merge/detail.h"

namespace lull::merge {

namespace {

constexpr double kContrastPx = 24;
// Of the place of stacks of one scene against each other, px^2: each is the mean of many frames.
constexpr double kBendVariance = 0.2;

align::FieldOptions field_options() {
  align::FieldOptions options;
  options.prior.variance_px2 = kBendVariance;
  // The first is passed over: the similarity is a better start than a search by patches.
  options.levels = {{3, 1, 8}, {3, 2, 1}, {2, 2, 1}, {1, 2, 1}};
  return options;
}

align::ShiftField bend_of(PlaneView reference, PlaneView picture, const Placement& placed) {
  const align::SplinePlane spline(picture);
  const Size size = picture.size();
  const Plane valid = placed.covered({0, 0, size.width_px, size.height_px});
  const Plane moved = placed.brought(spline);
  const Plane alike = with_contrast_of(reference, moved.view(), kContrastPx);
  const align::FieldEstimator estimator(reference, valid.view(), field_options());
  align::PaddedFrame frame;
  frame.assign(alike.view());
  align::FieldEstimator::Workspace work;
  return estimator.estimate(frame, {placed.field, 1}, align::LevelsUsed::finer, work).field;
}

}  // namespace

void Placement::coordinates(int y, float* x_out, float* y_out) const {
  field.coordinates(y, x_out, y_out);
  whole.move(x_out, y_out, whole.grid.width_px);
}

Plane Placement::brought(const align::SplinePlane& picture) const {
  Plane out(whole.grid);
  parallel_for(whole.grid.height_px, [&](std::int64_t row) {
    std::vector<float> x(field.row_size());
    std::vector<float> y(field.row_size());
    coordinates(static_cast<int>(row), x.data(), y.data());
    float* to = out.row(static_cast<int>(row));
    for (std::size_t i = 0; i < static_cast<std::size_t>(out.width()); ++i)
      to[i] = picture.at(static_cast<double>(x[i]), static_cast<double>(y[i]));
  });
  return out;
}

Plane Placement::covered(const Box& box) const {
  Plane out(whole.grid);
  std::vector<float> x(field.row_size());
  std::vector<float> y(field.row_size());
  for (int row = 0; row < out.height(); ++row) {
    coordinates(row, x.data(), y.data());
    for (int i = 0; i < out.width(); ++i) {
      const auto at = static_cast<std::size_t>(i);
      const bool inside =
          x[at] >= static_cast<float>(box.x0) && x[at] <= static_cast<float>(box.x1 - 1) &&
          y[at] >= static_cast<float>(box.y0) && y[at] <= static_cast<float>(box.y1 - 1);
      out.row(row)[i] = inside ? 1.0F : 0.0F;
    }
  }
  return out;
}

Placement in_place(Size grid) {
  return {Similarity{grid, grid, 1, 0, {}}, align::ShiftField(grid)};
}

Outcome<Placement> register_picture(PlaneView reference, PlaneView picture,
                                    const SimilaritySearch& search, Bend bend) {
  const auto found = find_similarity(reference, picture, search);
  if (!found.ok()) return found.reason();
  Placement out{found.value(), align::ShiftField(reference.size())};
  if (bend == Bend::followed) out.field = bend_of(reference, picture, out);
  return out;
}

}  // namespace lull::merge
