#include "lab/scene.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/error.h"
#include "files/picture_file.h"

namespace lull::lab {

namespace {

// A star: all its light in the canvas pixels around its place.
void add_point(Plane& plane, double x, double y, float light) {
  const int x0 = static_cast<int>(std::floor(x));
  const int y0 = static_cast<int>(std::floor(y));
  for (int j = 0; j < 2; ++j) {
    for (int i = 0; i < 2; ++i) {
      const double share = (1 - std::abs(x - x0 - i)) * (1 - std::abs(y - y0 - j));
      if (y0 + j >= 0 && y0 + j < plane.height() && x0 + i >= 0 && x0 + i < plane.width())
        plane.row(y0 + j)[x0 + i] += light * static_cast<float>(share);
    }
  }
}

Plane star_pair(const SceneParameters& scene, const Canvas& canvas) {
  Plane plane(canvas.size());
  const double x = 0.5 * (canvas.width_px - 1) + scene.centre_x_px;
  const double y = 0.5 * (canvas.height_px - 1) + scene.centre_y_px;
  add_point(plane, canvas.from_frame(x - scene.separation_px / 2), canvas.from_frame(y), 1);
  add_point(plane, canvas.from_frame(x + scene.separation_px / 2), canvas.from_frame(y),
            static_cast<float>(scene.companion));
  return plane;
}

// Part of the span from `from` to `to` that pixel i covers; pixel 0 reaches from 0 to 1.
double covered(int i, double from, double to) {
  return std::max(std::min(to, i + 1.0) - std::max(from, static_cast<double>(i)), 0.0);
}

// Mean of the picture over a square around (x, y); beyond its edges it is dark. A square smaller
// than a pixel is widened to one, which makes it bilinear interpolation.
float area_mean(PlaneView picture, double x, double y, double side) {
  const double reach = std::max(side, 1.0) / 2;
  const int x0 = std::max(static_cast<int>(std::floor(x - reach)), 0);
  const int y0 = std::max(static_cast<int>(std::floor(y - reach)), 0);
  const int x1 = std::min(static_cast<int>(std::ceil(x + reach)), picture.width_px);
  const int y1 = std::min(static_cast<int>(std::ceil(y + reach)), picture.height_px);
  double sum = 0;
  for (int j = y0; j < y1; ++j) {
    double row = 0;
    for (int i = x0; i < x1; ++i)
      row += covered(i, x - reach, x + reach) * static_cast<double>(picture.row(j)[i]);
    sum += covered(j, y - reach, y + reach) * row;
  }
  return static_cast<float>(sum / (4 * reach * reach));
}

std::vector<Plane> pictured(const Parameters& p, const Canvas& canvas) {
  const SceneParameters& scene = p.scene;
  const files::PictureFile file = files::read_picture(scene.image);
  const auto& planes = file.picture.channels;
  std::vector<Plane> out;
  for (std::size_t c = 0; c < p.wavelengths_m().size(); ++c) {
    const PlaneView picture = planes[std::min(p.light_of(c), planes.size() - 1)].view();
    Plane plane(canvas.size());
    const double scale = scene.image_px_per_px;
    for (int y = 0; y < plane.height(); ++y) {
      for (int x = 0; x < plane.width(); ++x) {
        const double u =
            (canvas.to_frame(x) - 0.5 * (canvas.width_px - 1) - scene.centre_x_px) * scale +
            0.5 * picture.width_px;
        const double v =
            (canvas.to_frame(y) - 0.5 * (canvas.height_px - 1) - scene.centre_y_px) * scale +
            0.5 * picture.height_px;
        plane.row(y)[x] = area_mean(picture, u, v, scale / canvas.fineness);
      }
    }
    out.push_back(std::move(plane));
  }
  return out;
}

void bring_to_one(std::vector<Plane>& planes) {
  float most = 0;
  for (const Plane& plane : planes) {
    for (int y = 0; y < plane.height(); ++y)
      most = std::max(most, *std::max_element(plane.row(y), plane.row(y) + plane.width()));
  }
  if (most <= 0) throw InputError("the scene is dark everywhere: nothing to simulate");
  for (Plane& plane : planes) scale(plane.view(), 1 / most);
}

// A halo, as thin cloud makes it around a bright body.
void add_veil(const SceneParameters& scene, const Canvas& canvas, Plane& plane) {
  const double cx = 0.5 * (canvas.width_px - 1) + scene.centre_x_px;
  const double cy = 0.5 * (canvas.height_px - 1) + scene.centre_y_px;
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      const double r = std::hypot(canvas.to_frame(x) - cx, canvas.to_frame(y) - cy);
      const double off = (r - scene.veil_radius_px) / scene.veil_width_px;
      plane.row(y)[x] += static_cast<float>(scene.veil * std::exp(-0.5 * off * off));
    }
  }
}

}  // namespace

Plane second_body(const SecondBody& body, const Canvas& canvas) {
  Plane plane(canvas.size());
  const double cx = canvas.from_frame(0.5 * (canvas.width_px - 1));
  const double cy = canvas.from_frame(0.5 * (canvas.height_px - 1));
  const double radius = body.radius_px * canvas.fineness;
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      const double inside = std::clamp(radius - std::hypot(x - cx, y - cy) + 0.5, 0.0, 1.0);
      plane.row(y)[x] = static_cast<float>(body.light * inside);
    }
  }
  return plane;
}

std::vector<Plane> make_scene(const Parameters& p, const Canvas& canvas) {
  if (p.scene.kind == "panel") {
    throw UsageError(
        "scene.kind panel: a part of a larger scene, which lull-sim mosaic --frames records");
  }
  // No place of it is brighter than 1, and the same light must mean the same at any moment.
  if (p.scene.kind == "planet") return planet(p, CoverMap(p.scene, p.seed), canvas, 0);
  const std::size_t channels = p.wavelengths_m().size();
  std::vector<Plane> planes;
  if (p.scene.kind == "sphere") {
    planes = globe(p, canvas);
  } else if (p.scene.kind == "image") {
    planes = pictured(p, canvas);
  } else {
    Plane gray = p.scene.kind == "sun"     ? solar_disc(p.scene, canvas, p.seed)
                 : p.scene.kind == "stars" ? star_pair(p.scene, canvas)
                                           : cratered_ground(p.scene, canvas, p.seed);
    for (std::size_t c = 0; c < channels; ++c) planes.push_back(Plane::copy_of(gray.view()));
  }
  bring_to_one(planes);
  if (p.scene.veil > 0) {
    for (Plane& plane : planes) add_veil(p.scene, canvas, plane);
  }
  return planes;
}

}  // namespace lull::lab
