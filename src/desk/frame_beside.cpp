#include "desk/frame_beside.h"

#include <algorithm>
#include <cmath>

#include "align/find_shift.h"
#include "desk/frame_picture.h"
#include "desk/problem.h"
#include "spectrum/fft.h"

namespace lull::desk {

namespace {

constexpr int kLargestTile = 256;
constexpr int kSmallestTile = 16;  // find_shift asks for it

Box moved(const Box& box, int dx, int dy) {
  return {box.x0 + dx, box.y0 + dy, box.x1 + dx, box.y1 + dy};
}

files::Picture part_of(const capture::Frame& frame, const capture::CaptureInfo& info,
                       const Box& place) {
  const Size size = frame.size();
  const Box shown = place.intersection({0, 0, size.width_px, size.height_px});
  if (shown.empty()) throw Problem(409, "the best frame does not show this area");
  const files::Picture light = light_of(frame, info, shown);
  files::Picture out = files::make_picture({place.width_px(), place.height_px()},
                                           static_cast<int>(light.channels.size()));
  for (std::size_t c = 0; c < light.channels.size(); ++c) {
    for (int y = 0; y < shown.height_px(); ++y) {
      std::copy_n(light.channels[c].row(y), shown.width_px(),
                  out.channels[c].row(y + shown.y0 - place.y0) + shown.x0 - place.x0);
    }
  }
  return out;
}

// The middle of the only channel, or of the green one.
PlaneView middle_of(const files::Picture& picture) {
  const PlaneView plane = picture.channels[picture.channels.size() / 2].view();
  const int width = spectrum::fast_length_below(std::min(plane.width_px, kLargestTile));
  const int height = spectrum::fast_length_below(std::min(plane.height_px, kLargestTile));
  const int x0 = (plane.width_px - width) / 2;
  const int y0 = (plane.height_px - height) / 2;
  return plane.crop({x0, y0, x0 + width, y0 + height});
}

}  // namespace

files::Picture frame_beside(const capture::Frame& frame, const capture::CaptureInfo& info,
                            const Box& place, const files::Picture& stack) {
  files::Picture out = part_of(frame, info, place);
  if (std::min(place.width_px(), place.height_px()) < kSmallestTile) return out;
  align::FindShiftWorkspace work;
  const auto found = align::find_shift(middle_of(stack), middle_of(out), {}, work);
  if (!found.ok()) return out;
  const int dx = -static_cast<int>(std::lround(found.value().x_px));
  const int dy = -static_cast<int>(std::lround(found.value().y_px));
  if (dx == 0 && dy == 0) return out;
  return part_of(frame, info, moved(place, dx, dy));
}

}  // namespace lull::desk
