#include "lab/mosaic.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <system_error>
#include <utility>
#include <vector>

#include "core/parallel.h"
#include "files/atomic_file.h"
#include "files/fits.h"
#include "files/fits_canvas.h"
#include "files/results.h"
#include "lab/mosaic_capture.h"
#include "lab/mosaic_panel.h"
#include "lab/mosaic_scene.h"
#include "run/linear_file.h"

namespace lull::lab {

namespace {

constexpr int kTruthStepPx = 32;
constexpr int kStripPx = 1024;  // of the scene drawn at a time

// The scene in strips, each of all rows, since shadows fall along columns.
std::vector<Box> strips_of(Size size) {
  std::vector<Box> out;
  for (int x = 0; x < size.width_px; x += kStripPx)
    out.push_back({x, 0, std::min(x + kStripPx, size.width_px), size.height_px});
  return out;
}

// As a perfect telescope shows it in the middle of the time, its brightest place 1.
// @return what that place had before.
double write_truth(const std::filesystem::path& path, const MosaicScene& scene,
                   const SceneDisc& disc, const Progress& progress) {
  files::FitsCanvas canvas(path, scene.size(), 1, {});
  const std::vector<Box> strips = strips_of(scene.size());
  float brightest = 0;
  for (std::size_t i = 0; i < strips.size(); ++i) {
    progress.step("drawing the scene", static_cast<std::int64_t>(i), std::ssize(strips));
    const Plane strip = scene.seen(strips[i], disc.phase_deg);
    for (int y = 0; y < strip.height(); ++y)
      brightest =
          std::max(brightest, *std::max_element(strip.row(y), strip.row(y) + strip.width()));
    canvas.write(0, 0, strips[i].x0, 0, strip.view());
  }
  for (const Box& box : strips) {
    Plane strip = canvas.read(0, 0, box);
    scale(strip.view(), 1 / brightest);
    canvas.write(0, 0, box.x0, 0, strip.view());
  }
  canvas.commit({});
  return static_cast<double>(brightest);
}

std::string file_of(const MosaicParameters& p, const PanelPlan& plan) {
  return p.recorded() ? capture_of(plan) : fmt::format("panel_{:02}.linear.fits", plan.number);
}

// Where the terminator moves: what it would show without camera, air and pose.
std::string moment_of(const PanelPlan& plan) {
  return fmt::format("moment_{:02}.fits", plan.number);
}

double rounded(double value) { return std::round(value * 1000) / 1000; }

nlohmann::json moment_json(const MosaicParameters& p, const PanelPlan& plan,
                           const SceneDisc& disc) {
  if (p.hours == 0) return {};
  const Box part = part_shown(place_grid(p, plan, disc, kTruthStepPx), p.scene_size());
  return {{"file", moment_of(plan)}, {"corner_px", {part.x0, part.y0}}};
}

nlohmann::json panel_json(const MosaicParameters& p, const PanelPlan& plan, const SceneDisc& disc) {
  const PlaceGrid grid = place_grid(p, plan, disc, kTruthStepPx);
  nlohmann::json x = nlohmann::json::array();
  nlohmann::json y = nlohmann::json::array();
  for (const Displacement& place : grid.places) {
    x.push_back(rounded(place.x_px));
    y.push_back(rounded(place.y_px));
  }
  return {{"file", file_of(p, plan)},
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
          {"noise", plan.noise},
          {"phase_deg", plan.phase_deg},
          {"moment", moment_json(p, plan, disc)},
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
  return {{"DATE-AVG", middle_utc(plan), "mean time of the frames"}};
}

void write_panel(const std::filesystem::path& path, const PanelPlan& plan, PanelStack& stack) {
  finish::Measurements measured;
  measured.noise.push_back(std::move(stack.noise));
  measured.frc = stack.frc;
  const files::PictureView picture{{stack.light.view()}};
  run::write_linear(path, picture, cards_of(plan), measured, {});
}

void write_moment(const std::filesystem::path& path, const MosaicParameters& p,
                  const PanelPlan& plan, const SceneDisc& disc, const MosaicScene& scene,
                  double brightest) {
  Plane seen =
      scene.seen(part_shown(place_grid(p, plan, disc, kTruthStepPx), scene.size()), plan.phase_deg);
  scale(seen.view(), static_cast<float>(1 / brightest));
  files::write_fits_float(path, {{std::as_const(seen).view()}}, {});
}

void add_stacks(const MosaicParameters& p, const std::vector<PanelPlan>& plans,
                const SceneDisc& disc, const MosaicScene& scene, double brightest,
                const std::filesystem::path& folder, files::Results& results,
                const Progress& progress) {
  const std::size_t block = static_cast<std::size_t>(std::max(thread_count(), 1));
  std::vector<PanelStack> made(block);
  for (std::size_t first = 0; first < plans.size(); first += block) {
    progress.step("rendering panels", static_cast<std::int64_t>(first),
                  static_cast<std::int64_t>(plans.size()));
    const std::size_t count = std::min(block, plans.size() - first);
    parallel_for(static_cast<std::int64_t>(count), [&](std::int64_t i) {
      const auto k = static_cast<std::size_t>(i);
      made[k] = make_panel(p, plans[first + k], disc, scene, brightest);
    });
    for (std::size_t k = 0; k < count; ++k) {
      const PanelPlan& plan = plans[first + k];
      results.add((folder / file_of(p, plan)).string(),
                  [&](const auto& path) { write_panel(path, plan, made[k]); });
    }
  }
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
  const MosaicScene scene(p, disc);
  files::Results results;
  results.add(place("truth.json"), [&](const auto& path) {
    files::write_file(path, description(p, plans, disc, optics));
  });
  double brightest = 1;
  results.add(place("truth.fits"),
              [&](const auto& path) { brightest = write_truth(path, scene, disc, progress); });
  for (const PanelPlan& plan : p.hours > 0 ? plans : std::vector<PanelPlan>{}) {
    results.add(place(moment_of(plan)),
                [&](const auto& path) { write_moment(path, p, plan, disc, scene, brightest); });
  }
  if (p.recorded()) {
    const std::int64_t frames = std::ssize(plans) * p.frames;
    std::int64_t before = 0;
    const Progress one([&](auto, std::int64_t done, std::int64_t) {
      progress.step("recording panels", before + done, frames);
    });
    for (const PanelPlan& plan : plans) {
      add_panel_capture(p, plan, disc, scene, brightest, folder, results, one);
      before += p.frames;
    }
  } else {
    add_stacks(p, plans, disc, scene, brightest, folder, results, progress);
  }
  results.commit();
}

}  // namespace lull::lab
