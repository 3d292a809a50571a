#include "stack/warped_row.h"

#include "align/field_kernels.h"

namespace lull::stack {

namespace {

constexpr float kFadePx = 12.0F;

}  // namespace

WarpedRow::WarpedRow(const Contribution& part)
    : part_(part),
      rows_(3 * part.field->row_size()),
      x_(rows_.data()),
      y_(x_ + part.field->row_size()),
      sampled_(y_ + part.field->row_size()) {}

void WarpedRow::move_to(int y) {
  const Size frame = part_.frame->size();
  part_.field->coordinates(y, x_, y_);
  align::kernels::sample_cubic()(part_.frame->origin(), part_.frame->stride_elems(), x_, y_,
                                 part_.field->reference_size().width_px,
                                 static_cast<float>(frame.width_px),
                                 static_cast<float>(frame.height_px), sampled_);
}

void WarpedRow::fade(float* weights) const {
  const Size frame = part_.frame->size();
  align::kernels::fade_edges()(x_, y_, static_cast<float>(frame.width_px - 1),
                               static_cast<float>(frame.height_px - 1), kFadePx,
                               part_.field->reference_size().width_px, weights);
}

}  // namespace lull::stack
