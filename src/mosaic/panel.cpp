#include "mosaic/panel.h"

#include <algorithm>

#include "core/reduced.h"

namespace lull::mosaic {

namespace {

Plane mean_of(const std::vector<PlaneView>& views) {
  return views.size() == 1 ? Plane::copy_of(views.front()) : mean_plane(views);
}

}  // namespace

Plane luminance_of(const PanelPicture& picture) {
  std::vector<PlaneView> views;
  for (const merge::Light& channel : picture) views.push_back(channel.light.view());
  return mean_of(views);
}

Plane luminance_of(const std::vector<Plane>& channels) {
  std::vector<PlaneView> views;
  for (const Plane& channel : channels) views.push_back(channel.view());
  return mean_of(views);
}

Sketch sketch_of(const PanelPicture& picture) {
  Sketch out;
  out.panel = picture.front().light.size();
  const int longest = std::max(out.panel.width_px, out.panel.height_px);
  out.side = (longest + kSketchPx - 1) / kSketchPx;
  for (const merge::Light& channel : picture)
    out.light.push_back(reduced(channel.light.view(), out.side));
  out.has_halves = !picture.front().noise.empty();
  return out;
}

}  // namespace lull::mosaic
