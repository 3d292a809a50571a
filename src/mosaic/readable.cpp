#include "mosaic/readable.h"

#include "mosaic/places.h"

namespace lull::mosaic {

Readable readable(const PanelPicture& picture) {
  Readable out{picture.front().light.size(), align::SplinePlane(luminance_of(picture).view()), {}};
  if (picture.front().noise.empty()) return out;
  std::vector<PlaneView> noise;
  for (const merge::Light& channel : picture) noise.push_back(channel.noise.view());
  out.noise.emplace_back(mean_plane(noise).view());
  return out;
}

double bytes_of(const Readable& panel) {
  const double planes = 1.0 + static_cast<double>(panel.noise.size());
  return planes * sizeof(float) * static_cast<double>(panel.size.area_px());
}

namespace {

// Places that far apart, centred between two ends, so that a narrow overlap has some.
std::vector<double> spread(double first, double last, int spacing_px) {
  std::vector<double> out;
  if (last < first) return out;
  const int gaps = static_cast<int>((last - first) / spacing_px);
  const double begin = 0.5 * (first + last - gaps * spacing_px);
  for (int i = 0; i <= gaps; ++i) out.push_back(begin + i * spacing_px);
  return out;
}

}  // namespace

std::vector<SharedPlace> shared_places(const PanelMap& first, const PanelMap& second, int window_px,
                                       int spacing_px) {
  const Box box = outline(first).intersection(outline(second));
  const double margin = 0.5 * window_px + 2;
  std::vector<SharedPlace> out;
  for (const double y : spread(box.y0 + margin, box.y1 - 1 - margin, spacing_px)) {
    for (const double x : spread(box.x0 + margin, box.x1 - 1 - margin, spacing_px)) {
      const Displacement at{x, y};
      const SharedPlace place{at, first.to_panel(at), second.to_panel(at)};
      if (is_inside(first.panel, place.first, margin / first.scale()) &&
          is_inside(second.panel, place.second, margin / second.scale()))
        out.push_back(place);
    }
  }
  return out;
}

void read_part(const align::SplinePlane& panel, const PanelMap& map, Displacement origin,
               MutablePlaneView out) {
  const Places places(map, origin, out.size());
  std::vector<Displacement> row(static_cast<std::size_t>(out.width_px));
  for (int y = 0; y < out.height_px; ++y) {
    places.row(y, row);
    panel.read(row, out.row(y));
  }
}

void read_patch(const align::SplinePlane& panel, const PanelMap& map, Displacement middle,
                Plane& out) {
  read_part(panel, map, middle - Displacement{0.5 * (out.width() - 1), 0.5 * (out.height() - 1)},
            out.view());
}

}  // namespace lull::mosaic
