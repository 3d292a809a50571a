#include "stack/placed_row.h"

#include <algorithm>

#include "align/field_kernels.h"

namespace lull::stack {

namespace {

// No longer: a ramp gives more weight to frames whose fields err inwards, which moves the edge.
constexpr float kFadePx = 1.0F;

}  // namespace

void PlacedRow::place(const PictureGrid& grid, const align::ShiftField& field, Displacement offset,
                      int y) {
  row_ = y;
  count_ = grid.size().width_px;
  grid.coordinates(field, y, x_, y_);
  if (offset == Displacement{}) return;
  for (float& x : x_) x += static_cast<float>(offset.x_px);
  for (float& down : y_) down += static_cast<float>(offset.y_px);
}

void PlacedRow::weigh(const PictureGrid& grid, const align::ShiftField& field,
                      const std::vector<float>& nodes, Size frame) {
  grid.expand(field, nodes, row_, weight_);
  fade(frame);
}

void PlacedRow::weigh_equally(Size frame) {
  weight_.assign(x_.size(), 1.0F);
  fade(frame);
}

void PlacedRow::fade(Size frame) {
  align::kernels::fade_edges()(x_.data(), y_.data(), static_cast<float>(frame.width_px - 1),
                               static_cast<float>(frame.height_px - 1), kFadePx, count_,
                               weight_.data());
}

const float* PlacedRow::sampled(const ChannelSamples& samples) {
  if (samples.warped != nullptr) return samples.warped->row(row_);
  const align::PaddedFrame& frame = *samples.plane;
  sampled_.resize(x_.size());
  const Size size = frame.size();
  align::kernels::sample_cubic()(frame.origin(), frame.stride_elems(), x_.data(), y_.data(), count_,
                                 static_cast<float>(size.width_px),
                                 static_cast<float>(size.height_px), sampled_.data());
  return sampled_.data();
}

}  // namespace lull::stack
