#include "lab/mosaic_capture.h"

#include <fmt/format.h>

#include <vector>

#include "core/utc.h"
#include "lab/mosaic_panel.h"
#include "lab/simulator.h"
#include "lab/targets.h"

namespace lull::lab {

namespace {

// Slow enough that gusts of the air come and go within some hundred frames.
constexpr double kFramesPerS = 25;
constexpr double kHydrogenAlphaM = 656.3e-9;

std::string name_of(const PanelPlan& plan) { return fmt::format("panel_{:02}", plan.number); }

Parameters parameters_of(const MosaicParameters& p, const PanelPlan& plan) {
  Parameters out = p.is_sun() ? sun_surface() : moon_close();
  if (p.scene == "sun-narrow") out.telescope.wavelength_m = kHydrogenAlphaM;
  out.name = name_of(plan);
  out.width_px = p.panel.width_px;
  out.height_px = p.panel.height_px;
  out.frames = p.frames;
  out.seed = p.seed;
  out.recording = static_cast<std::uint64_t>(plan.number);
  // Darks and flats have been applied, and left some of the vignetting.
  out.calibration_frames = 0;
  out.camera.dust = 0;
  out.camera.hot_share = 0;
  out.camera.vignetting = p.vignetting;
  out.camera.frames_per_s = kFramesPerS;
  out.scene = {.kind = "panel", .utc = middle_utc(plan)};
  out.air.d_over_r0 = plan.d_over_r0;
  for (AirLayer& layer : out.air.layers) layer.wind_m_s *= p.air.wind;
  // Cloud takes light and leaves the camera as it is.
  const double full_scale = (1 << out.camera.bits) - 1;
  out.camera.gain_e_per_adu = out.camera.peak_electrons / (kPanelLevel * full_scale);
  out.camera.peak_electrons *= plan.gain;
  out.camera.offset_adu += plan.offset * full_scale;
  return out;
}

}  // namespace

std::string middle_utc(const PanelPlan& plan) {
  return iso8601(after(parse_iso8601("2026-11-30T04:00:00").value(), 60 * plan.minutes), 6);
}

std::string capture_of(const PanelPlan& plan) { return name_of(plan) + ".mkv"; }

void add_panel_capture(const MosaicParameters& p, const PanelPlan& plan, const SceneDisc& disc,
                       const MosaicScene& scene, double brightest,
                       const std::filesystem::path& folder, files::Results& results,
                       const Progress& progress) {
  const GivenScene part{[&](const Canvas& canvas) {
                          const PlaceGrid grid =
                              place_grid(p, plan, disc, kNodePx, canvas.margin_px);
                          const Box box = reach_of(grid);
                          std::vector<Plane> light;
                          light.push_back(seen(grid, box, scene.light(box, plan.phase_deg).view()));
                          return light;
                        },
                        brightest};
  add_capture(parameters_of(p, plan), &part, folder, results, progress);
}

}  // namespace lull::lab
