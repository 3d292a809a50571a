#include "stack/warped_frames.h"

#include <algorithm>

#include "core/parallel.h"
#include "stack/placed_row.h"

namespace lull::stack {

namespace {

template <class Body>
void for_each(std::vector<Contribution>& batch, const Body& body) {
  parallel_for(static_cast<std::int64_t>(batch.size()), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    body(i, batch[i]);
  });
}

}  // namespace

void WarpedFrames::warp(std::vector<Contribution>& batch, Size picture) {
  planes_.resize(std::max(planes_.size(), batch.size()));
  const PictureGrid grid(picture, 1);
  for_each(batch, [&](std::size_t i, Contribution& part) {
    Plane& plane = planes_[i];
    if (plane.size() != picture) plane = Plane(picture);
    ChannelSamples& samples = part.channels[0];
    samples.warped = nullptr;
    PlacedRow row;
    for (int y = 0; y < picture.height_px; ++y) {
      row.place(grid, *part.field, {}, y);
      std::copy_n(row.sampled(samples), picture.width_px, plane.row(y));
    }
    samples.warped = &plane;
  });
}

void WarpedFrames::complete(std::vector<Contribution>& batch, PlaneView reference) {
  const PictureGrid grid(reference.size(), 1);
  for_each(batch, [&](std::size_t i, Contribution& part) {
    part.channels[0].warped = nullptr;
    const auto gain = static_cast<float>(part.gain);
    PlacedRow row;
    for (int y = 0; y < reference.height_px; ++y) {
      row.place(grid, *part.field, {}, y);
      row.weigh_equally(part.channels[0].plane->size());
      const float* inside = row.weight();
      const float* other = reference.row(y);
      float* light = planes_[i].row(y);
      for (int x = 0; x < reference.width_px; ++x)
        light[x] = other[x] + inside[x] * (gain * light[x] - other[x]);
    }
  });
}

}  // namespace lull::stack
