#include "lab/mosaic_scene.h"

#include <algorithm>
#include <vector>

#include "finish/telescope.h"
#include "lab/scene.h"
#include "spectrum/radial_filter.h"

namespace lull::lab {

namespace {

constexpr int kReachPx = 96;  // of the blur

Plane sun_of(const MosaicParameters& p, const SceneDisc& disc) {
  const Size size = p.scene_size();
  SceneParameters scene{
      .kind = "sun",
      .centre_x_px = disc.centre.x_px - 0.5 * (size.width_px - 1),
      .centre_y_px = disc.centre.y_px - 0.5 * (size.height_px - 1),
      .radius_px = disc.radius_px,
      .spots = 30,
      .largest_spot_px = std::max(0.03 * disc.radius_px, 12.0),
      .granule_px = 7,
      .prominences = 0,
  };
  if (p.scene == "sun-narrow") {
    // The layer of gas above the white surface: coarser, and seen beyond the limb.
    scene.limb_darkening = 0.35;
    scene.granule_px = 11;
    scene.prominences = 30;
    scene.largest_prominence_px = std::max(0.05 * disc.radius_px, 12.0);
  }
  return solar_disc(scene, {size.width_px, size.height_px, 0, 1}, p.seed);
}

}  // namespace

PanelOptics optics_of(const MosaicParameters& p) {
  // Of lab/targets: wren for the Moon, plover for the Sun.
  if (p.scene == "sun-narrow") return {0.284, 0};  // at 656.3 nm
  return p.is_sun() ? PanelOptics{0.345, 0} : PanelOptics{0.334, 0.33};
}

MosaicScene::MosaicScene(const MosaicParameters& p, const SceneDisc& disc)
    : size_(p.scene_size()), optics_(optics_of(p)) {
  if (p.is_sun())
    drawn_ = sun_of(p, disc);
  else
    drawn_ = std::make_unique<const MoonGround>(size_, disc, p.seed);
}

Plane MosaicScene::light(const Box& part, double phase_deg) const {
  const Box inside = part.intersection({0, 0, size_.width_px, size_.height_px});
  Plane out(part.width_px(), part.height_px());
  if (inside.empty()) return out;
  const Plane* sun = std::get_if<Plane>(&drawn_);
  const Plane drawn = sun != nullptr ? Plane::copy_of(sun->view().crop(inside))
                                     : std::get<std::unique_ptr<const MoonGround>>(drawn_)->light(
                                           inside, phase_deg);
  for (int y = 0; y < drawn.height(); ++y)
    std::copy_n(drawn.row(y), drawn.width(),
                out.row(inside.y0 - part.y0 + y) + (inside.x0 - part.x0));
  return out;
}

Plane MosaicScene::seen(const Box& part, double phase_deg, const Transfer& air) const {
  constexpr int kPoints = 128;
  std::vector<spectrum::FilterPoint> curve;
  curve.reserve(kPoints + 1);
  for (int i = 0; i <= kPoints; ++i) {
    const double share = static_cast<double>(i) / kPoints;
    curve.push_back(
        {share * optics_.cutoff_cycles_per_px,
         finish::telescope_transfer(share, optics_.obstruction) * (air ? air(share) : 1.0)});
  }
  const Box around =
      Box{part.x0 - kReachPx, part.y0 - kReachPx, part.x1 + kReachPx, part.y1 + kReachPx}
          .intersection({0, 0, size_.width_px, size_.height_px});
  const Plane blurred = spectrum::filtered(light(around, phase_deg).view(), curve);
  return Plane::copy_of(blurred.view().crop(
      {part.x0 - around.x0, part.y0 - around.y0, part.x1 - around.x0, part.y1 - around.y0}));
}

}  // namespace lull::lab
