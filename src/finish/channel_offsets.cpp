#include "finish/channel_offsets.h"

#include <algorithm>
#include <cmath>

#include "align/spline_plane.h"
#include "core/assert.h"

namespace lull::finish {

namespace {

constexpr int kReach_px = 24;  // of the spline's prefilter, to the precision of a float

bool moves(Displacement offset) { return offset.x_px != 0 || offset.y_px != 0; }

void move(Plane& channel, Displacement offset) {
  if (!moves(offset)) return;
  const align::SplinePlane between(channel.view());
  between.sample({-offset.x_px, -offset.y_px}, channel.view());
}

}  // namespace

bool ChannelOffsets::any() const { return moves(red) || moves(blue); }

int ChannelOffsets::margin_px() const {
  if (!any()) return 0;
  const double most =
      std::max({std::abs(red.x_px), std::abs(red.y_px), std::abs(blue.x_px), std::abs(blue.y_px)});
  return kReach_px + static_cast<int>(std::ceil(most));
}

void move_channels(std::vector<Plane>& picture, const ChannelOffsets& offsets) {
  LULL_ASSERT(picture.size() == 3);
  move(picture.front(), offsets.red);
  move(picture.back(), offsets.blue);
}

}  // namespace lull::finish
