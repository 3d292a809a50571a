#include "stack/half_stacks.h"

#include <algorithm>

#include "align/field_kernels.h"
#include "core/parallel.h"
#include "stack/warped_row.h"

namespace lull::stack {

namespace {

constexpr int kBandRows = 16;

void divide(PlaneView sum, PlaneView weight, MutablePlaneView out) {
  for (int y = 0; y < sum.height_px; ++y) {
    const float* s = sum.row(y);
    const float* w = weight.row(y);
    float* o = out.row(y);
    for (int x = 0; x < sum.width_px; ++x) o[x] = w[x] > 0.0F ? s[x] / w[x] : 0.0F;
  }
}

}  // namespace

HalfStacks::HalfStacks(Size size) {
  for (Half& half : halves_) half = {Plane(size), Plane(size)};
}

void HalfStacks::add(const std::vector<Contribution>& batch) {
  const int width = size().width_px;
  const int height = size().height_px;
  const int bands = (height + kBandRows - 1) / kBandRows;
  parallel_for(bands, [&](std::int64_t band) {
    const int first = static_cast<int>(band) * kBandRows;
    std::vector<float> weight;
    for (const Contribution& part : batch) {
      WarpedRow warped(part);
      weight.resize(part.field->row_size());
      Half& half = halves_[static_cast<std::size_t>(part.half)];
      for (int row = first; row < std::min(first + kBandRows, height); ++row) {
        warped.move_to(row);
        part.field->expand(*part.weights, row, weight.data());
        warped.fade(weight.data());
        align::kernels::add_weighted()(warped.samples(), weight.data(),
                                       static_cast<float>(part.gain), width, half.sum.row(row),
                                       half.weight.row(row));
      }
    }
  });
}

Plane HalfStacks::mean() const {
  Plane sum = Plane::copy_of(halves_[0].sum.view());
  Plane weight = Plane::copy_of(halves_[0].weight.view());
  lull::add(sum.view(), halves_[1].sum.view());
  lull::add(weight.view(), halves_[1].weight.view());
  Plane out(size());
  divide(sum.view(), weight.view(), out.view());
  return out;
}

Plane HalfStacks::half_mean(int half) const {
  const Half& from = halves_[static_cast<std::size_t>(half)];
  Plane out(size());
  divide(from.sum.view(), from.weight.view(), out.view());
  return out;
}

Plane HalfStacks::valid() const {
  Plane out(size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      const bool both = halves_[0].weight.row(y)[x] > 0.0F && halves_[1].weight.row(y)[x] > 0.0F;
      out.row(y)[x] = both ? 1.0F : 0.0F;
    }
  }
  return out;
}

HalfStacks HalfStacks::copy() const {
  HalfStacks out;
  for (std::size_t i = 0; i < halves_.size(); ++i) {
    out.halves_[i] = {Plane::copy_of(halves_[i].sum.view()),
                      Plane::copy_of(halves_[i].weight.view())};
  }
  return out;
}

}  // namespace lull::stack
