#include "lab/mosaic.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <system_error>

#include "core/parallel.h"
#include "core/utc.h"
#include "files/atomic_file.h"
#include "files/fits.h"
#include "files/results.h"
#include "lab/moon_disc.h"
#include "lab/mosaic_panel.h"
#include "lab/scene.h"
#include "run/linear_file.h"

namespace lull::lab {

namespace {

constexpr int kTruthStepPx = 32;

Plane drawn(const MosaicParameters& p, const SceneDisc& disc) {
  const Size size = p.scene_size();
  if (p.scene == "moon") return moon_disc(size, disc, p.seed);
  const SceneParameters scene{
      .kind = "sun",
      .centre_x_px = disc.centre.x_px - 0.5 * (size.width_px - 1),
      .centre_y_px = disc.centre.y_px - 0.5 * (size.height_px - 1),
      .radius_px = disc.radius_px,
      .spots = 30,
      .largest_spot_px = std::max(0.03 * disc.radius_px, 12.0),
      .granule_px = 7,
      .prominences = 0,
  };
  return solar_disc(scene, {size.width_px, size.height_px, 0, 1}, p.seed);
}

// As a perfect telescope shows it, its brightest place 1.
Plane ideal_picture(const MosaicParameters& p, const SceneDisc& disc, const PanelOptics& optics) {
  const Plane scene = drawn(p, disc);
  Plane picture = through_telescope(scene.view(), optics);
  float most = 0;
  for (int y = 0; y < picture.height(); ++y)
    most = std::max(most, *std::max_element(picture.row(y), picture.row(y) + picture.width()));
  scale(picture.view(), 1 / most);
  return picture;
}

std::string file_of(const PanelPlan& plan) {
  return fmt::format("panel_{:02}.linear.fits", plan.number);
}

double rounded(double value) { return std::round(value * 1000) / 1000; }

nlohmann::json panel_json(const MosaicParameters& p, const PanelPlan& plan, const SceneDisc& disc) {
  const PlaceGrid grid = place_grid(p, plan, disc, kTruthStepPx);
  nlohmann::json x = nlohmann::json::array();
  nlohmann::json y = nlohmann::json::array();
  for (const Displacement& place : grid.places) {
    x.push_back(rounded(place.x_px));
    y.push_back(rounded(place.y_px));
  }
  return {{"file", file_of(plan)},
          {"column", plan.column},
          {"row", plan.row},
          {"minutes", plan.minutes},
          {"middle_px", {plan.middle.x_px, plan.middle.y_px}},
          {"scale", plan.scale},
          {"turn_rad", plan.turn_rad},
          {"gain", plan.gain},
          {"offset", plan.offset},
          {"d_over_r0", plan.d_over_r0},
          {"bend_rms_px", plan.bend_px},
          {"bend_shortest_px", plan.bend_shortest_px},
          {"libration_rad", plan.libration_rad},
          {"grid", {{"columns_px", grid.columns}, {"rows_px", grid.rows}, {"x", x}, {"y", y}}}};
}

std::string description(const MosaicParameters& p, const std::vector<PanelPlan>& plans,
                        const SceneDisc& disc, const PanelOptics& optics) {
  const Size size = p.scene_size();
  nlohmann::json panels = nlohmann::json::array();
  for (int number = 1; number <= p.count(); ++number) {
    const auto plan = std::find_if(plans.begin(), plans.end(),
                                   [number](const PanelPlan& one) { return one.number == number; });
    panels.push_back(panel_json(p, *plan, disc));
  }
  const nlohmann::json all = {{"scene", p.scene},
                              {"picture", "truth.fits"},
                              {"size_px", {size.width_px, size.height_px}},
                              {"disc",
                               {{"centre_px", {disc.centre.x_px, disc.centre.y_px}},
                                {"radius_px", disc.radius_px},
                                {"phase_deg", disc.phase_deg}}},
                              {"cutoff_cycles_per_px", optics.cutoff_cycles_per_px},
                              {"panel_px", {p.panel.width_px, p.panel.height_px}},
                              {"columns", p.columns},
                              {"rows", p.rows},
                              {"overlap", p.overlap},
                              {"seed", p.seed},
                              {"vignetting", p.vignetting},
                              {"distortion", p.distortion},
                              {"noise", p.noise},
                              {"level", kPanelLevel},
                              {"dark_noise", kDarkPanelNoise},
                              {"obstruction", optics.obstruction},
                              {"panels", panels}};
  return all.dump() + "\n";
}

std::vector<files::Card> cards_of(const PanelPlan& plan) {
  const Utc begin = parse_iso8601("2026-11-30T04:00:00").value();
  return {{"DATE-AVG", iso8601(after(begin, 60 * plan.minutes), 6), "mean time of the frames"}};
}

void write_panel(const std::filesystem::path& path, const PanelPlan& plan, PanelStack& stack) {
  finish::Measurements measured;
  measured.noise.push_back(std::move(stack.noise));
  measured.frc = stack.frc;
  const files::PictureView picture{{stack.light.view()}};
  run::write_linear(path, picture, cards_of(plan), measured, {});
}

}  // namespace

void simulate_mosaic(const MosaicParameters& p, const std::filesystem::path& folder,
                     const Progress& progress) {
  check(p);
  std::error_code failed;
  std::filesystem::create_directories(folder, failed);
  const auto place = [&](const std::string& name) { return (folder / name).string(); };
  files::check_writable(place("truth.json"));
  const SceneDisc disc = disc_of(p);
  const PanelOptics optics = optics_of(p);
  const std::vector<PanelPlan> plans = plan_panels(p);
  progress.step("drawing the scene", 0, 1);
  const Plane scene = ideal_picture(p, disc, optics);
  files::Results results;
  results.add(place("truth.json"), [&](const auto& path) {
    files::write_file(path, description(p, plans, disc, optics));
  });
  results.add(place("truth.fits"),
              [&](const auto& path) { files::write_fits_float(path, {{scene.view()}}, {}); });
  const std::size_t block = static_cast<std::size_t>(std::max(thread_count(), 1));
  std::vector<PanelStack> made(block);
  for (std::size_t first = 0; first < plans.size(); first += block) {
    progress.step("rendering panels", static_cast<std::int64_t>(first),
                  static_cast<std::int64_t>(plans.size()));
    const std::size_t count = std::min(block, plans.size() - first);
    parallel_for(static_cast<std::int64_t>(count), [&](std::int64_t i) {
      const auto k = static_cast<std::size_t>(i);
      made[k] = make_panel(p, plans[first + k], disc, scene.view(), optics);
    });
    for (std::size_t k = 0; k < count; ++k) {
      const PanelPlan& plan = plans[first + k];
      results.add(place(file_of(plan)),
                  [&](const auto& path) { write_panel(path, plan, made[k]); });
    }
  }
  results.commit();
}

}  // namespace lull::lab
