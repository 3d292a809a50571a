#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <utility>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/name_text.h"
#include "files/picture_file.h"
#include "files/recipe.h"
#include "files/results.h"
#include "merge/covered.h"
#include "merge/match_blur.h"
#include "mosaic/blend.h"
#include "mosaic/holes.h"
#include "run/finish_picture.h"
#include "run/linear_file.h"
#include "run/memory_need.h"
#include "run/mosaic_header.h"
#include "run/mosaic_map.h"
#include "run/mosaic_notes.h"
#include "run/mosaic_outcome.h"
#include "run/outputs.h"
#include "run/panel_input.h"
#include "run/recipe_options.h"
#include "run/resolution.h"
#include "run/settled_look.h"
#include "run/share_notes.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;

constexpr double kPlanesOfMosaic = 3;   // of each channel: light, noise, what shows it
constexpr double kPlanesOfFinish = 32;  // of one channel: finish_input.cpp
constexpr double kLeastHole = 0.002;    // of a panel's area
constexpr double kHeldPanels = 1.5e9;   // bytes of panels at a time, where --memory does not say

struct MosaicTargets {
  std::string picture;
  std::string linear;
  std::string recipe;
  std::string share;
  std::string plot;
};

MosaicTargets mosaic_targets(const MosaicRequest& request) {
  const fs::path picture = request.output;
  return {picture, fs::path(picture).replace_extension(".linear.fits"),
          fs::path(picture).replace_extension(".recipe.json"), request.look.share, request.plot};
}

MosaicRequest complete(const MosaicRequest& given) {
  check_complete(mosaic_options(), given);
  MosaicRequest request = given;
  if (request.output.empty()) request.output = name_after(request.panels.front(), "_mosaic.tif");
  if (request.panels.size() < 2)
    throw UsageError(
        "one panel is no mosaic: name all panels, e.g. lull mosaic moon_*.linear.fits");
  return request;
}

void check_request(const MosaicRequest& request, const MosaicTargets& targets,
                   const Resources& resources) {
  check_look(request.look);
  check_white_balance(request.look.white_balance, request.look.object);
  static_cast<void>(files::format_of(targets.picture));
  check_results({targets.picture, targets.linear, targets.recipe, targets.share, targets.plot},
                request.panels, resources);
}

// All panels, without copies of others.
std::vector<PanelInput> read_panels(MosaicOutcome& outcome, std::vector<mosaic::Sketch>& sketches,
                                    const Progress& progress) {
  std::vector<PanelInput> panels;
  int done = 0;
  for (const std::string& path : outcome.request.panels) {
    progress.step("reading", done++, std::ssize(outcome.request.panels));
    ReadPanel panel = read_panel_input(path);
    const auto same = std::find_if(panels.begin(), panels.end(), [&](const PanelInput& other) {
      return other.fingerprint == panel.input.fingerprint && other.size == panel.input.size;
    });
    if (same == panels.end()) {
      panels.push_back(std::move(panel.input));
      outcome.numbers.push_back(done);
      sketches.push_back(std::move(panel.sketch));
    } else {
      outcome.left_out.push_back(fmt::format("{}: the same picture as {}", path, same->path));
    }
  }
  check_alike(panels);
  return panels;
}

// Gains over frequencies of the mosaic, for a panel that has so many px for one of it.
std::vector<spectrum::FilterPoint> of_panel(std::vector<spectrum::FilterPoint> gains,
                                            double scale) {
  for (spectrum::FilterPoint& point : gains) point.frequency *= scale;
  return gains;
}

mosaic::Sheet sheet_of(const PanelInput& panel, const std::vector<spectrum::FilterPoint>& gains) {
  mosaic::PanelPicture picture = read_panel(panel);
  if (!gains.empty()) {
    for (merge::Light& channel : picture) {
      channel.light = merge::through(channel.light.view(), gains);
      if (!channel.noise.empty()) channel.noise = merge::through(channel.noise.view(), gains);
    }
  }
  mosaic::Sheet out;
  out.size = panel.size;
  for (const merge::Light& channel : picture) {
    mosaic::Sheet::Channel sheet{align::SplinePlane(channel.light.view()), {}, 0, 0};
    if (!channel.noise.empty()) sheet.noise.emplace_back(channel.noise.view());
    sheet.darkest = INFINITY;
    sheet.brightest = -INFINITY;
    for (int y = 0; y < channel.light.height(); ++y) {
      const float* row = channel.light.row(y);
      const auto [low, high] = std::minmax_element(row, row + channel.light.width());
      sheet.darkest = std::min(sheet.darkest, *low);
      sheet.brightest = std::max(sheet.brightest, *high);
    }
    out.channels.push_back(std::move(sheet));
  }
  return out;
}

double bytes_of(const mosaic::Sheet& sheet) {
  double planes = 0;
  for (const mosaic::Sheet::Channel& channel : sheet.channels)
    planes += 1.0 + static_cast<double>(channel.noise.size());
  return planes * sizeof(float) * static_cast<double>(sheet.size.area_px());
}

void put(const Plane& tile, const Box& box, Plane& whole) {
  for (int y = 0; y < tile.height(); ++y)
    std::copy(tile.row(y), tile.row(y) + tile.width(), whole.row(box.y0 + y) + box.x0);
}

// The whole mosaic in memory.
struct Joined {
  std::vector<merge::Light> channels;
  Plane covered;
};

Joined join(const mosaic::Layout& layout, const std::vector<PanelInput>& panels, double most_bytes,
            const Progress& progress) {
  mosaic::Blending plan;
  plan.mosaic = layout.mosaic;
  plan.maps = layout.maps;
  plan.group = layout.group;
  plan.brightness = layout.brightness;
  plan.channels = panels.front().channels;
  plan.has_halves = panels.front().has_halves;
  Joined out;
  out.covered = Plane(layout.mosaic);
  for (std::size_t c = 0; c < plan.channels; ++c)
    out.channels.push_back(
        {Plane(layout.mosaic), plan.has_halves ? Plane(layout.mosaic) : Plane()});
  mosaic::Shelf<mosaic::Sheet> shelf(
      [&](mosaic::PanelIndex panel) {
        return sheet_of(panels[panel], of_panel(layout.gains[panel], layout.maps[panel].scale()));
      },
      bytes_of, most_bytes);
  mosaic::blend(
      plan, [&](mosaic::PanelIndex panel) { return shelf.take(panel); },
      [&](const mosaic::Tile& tile) {
        put(tile.covered, tile.box, out.covered);
        for (std::size_t c = 0; c < tile.channels.size(); ++c) {
          put(tile.channels[c].light, tile.box, out.channels[c].light);
          if (plan.has_halves) put(tile.channels[c].noise, tile.box, out.channels[c].noise);
        }
      },
      progress);
  return out;
}

// Those that are worth a panel of their own.
std::vector<mosaic::Hole> large_holes(const Plane& covered, Size panel) {
  return mosaic::holes_in(covered.view(), kLeastHole * static_cast<double>(panel.area_px()));
}

double share_covered(const Plane& covered) {
  double sum = 0;
  for (int y = 0; y < covered.height(); ++y)
    for (int x = 0; x < covered.width(); ++x) sum += static_cast<double>(covered.row(y)[x]);
  return sum / static_cast<double>(covered.size().area_px());
}

spectrum::FrcCurve frc_of(const Joined& joined) {
  const Size size = joined.covered.size();
  const Box inner =
      merge::covered_box({joined.covered.view()}, {0, 0, size.width_px, size.height_px});
  std::vector<PlaneView> light;
  std::vector<PlaneView> noise;
  for (const merge::Light& channel : joined.channels) {
    light.push_back(channel.light.view().crop(inner));
    noise.push_back(channel.noise.view().crop(inner));
  }
  const Plane whole = mean_plane(light);
  const Plane half = mean_plane(noise);
  return spectrum::fourier_ring_correlation(weighted_sum(whole.view(), 1, half.view()).view(),
                                            weighted_sum(whole.view(), -1, half.view()).view());
}

// As if it had been read from its file.
FinishInput joined_input(Joined& joined, const std::vector<PanelInput>& panels,
                         const MosaicOutcome& outcome) {
  FinishInput out;
  out.has_halves = panels.front().has_halves;
  out.stretched = panels.front().stretched;
  if (out.has_halves) {
    const PanelInput& typical = panels[mosaic::typical_panel(outcome.layout)];
    out.measured.frc = outcome.frc;
    out.measured.ratio = typical.ratio;
    out.measured.sampling = typical.sampling;
    for (merge::Light& channel : joined.channels)
      out.measured.noise.push_back(std::move(channel.noise));
  }
  for (merge::Light& channel : joined.channels)
    out.picture.channels.push_back(std::move(channel.light));
  if (!out.has_halves) out.measured = finish::measurements_of_picture(out.picture.view().channels);
  out.measured.covered = std::move(joined.covered);
  out.cards = mosaic_cards(panels, outcome.layout);
  return out;
}

// Pictures without half stacks are finished already: they are joined as they are.
Look look_of(const MosaicRequest& request, const FinishInput& input) {
  Look look = request.look;
  if (input.has_halves) return look;
  if (std::holds_alternative<RestoreDetail>(look.detail)) look.detail = LeaveDetail{};
  if (look.white_balance == WhiteBalanceChoice{WhiteBalanceRule::automatic})
    look.white_balance = WhiteBalanceRule::none;
  if (!look.black) look.black = 0;
  if (!look.white) look.white = 1;
  return look;
}

void write_results(MosaicOutcome& outcome, const MosaicTargets& targets, const FinishInput& input,
                   const Finished& finished, const Look& look, const RunControl& control) {
  const draw::Annotation under = share_notes(look, input.cards, outcome.layout.mosaic);
  outcome.viewing_hint =
      input.has_halves ? viewing_hint(targets.picture, targets.share, finished) : "";
  using Format = files::Results::Format;
  files::Results results;
  outcome.written = {targets.picture};
  results.add(
      targets.picture,
      [&](const fs::path& path) {
        outcome.clipped = write_finished(path, finished, input.cards, look);
      },
      Format::of_name);
  if (input.has_halves) {
    outcome.written.push_back(targets.linear);
    results.add(targets.linear, [&](const fs::path& path) {
      write_linear(path, input.picture.view(), input.cards, input.measured, {});
    });
  }
  if (!targets.share.empty()) {
    outcome.written.push_back(targets.share);
    results.add(
        targets.share,
        [&](const fs::path& path) {
          write_shared(path, shared_copy(finished, under), under.caption, input.cards);
        },
        Format::of_name);
  }
  if (!targets.plot.empty()) {
    outcome.written.push_back(targets.plot);
    results.add(targets.plot,
                [&](const fs::path& path) { files::write_file(path, mosaic_map(outcome)); });
  }
  outcome.written.push_back(targets.recipe);
  results.add(targets.recipe, [&](const fs::path& path) {
    files::save_recipe(path, {{"version", LULL_VERSION},
                              {"options", recipe_of(mosaic_options(), outcome.request)},
                              {"figures", outcome.figures}});
  });
  commit(results, control.resources);
}

void name_left_out(const std::vector<PanelInput>& panels, MosaicOutcome& outcome) {
  for (const auto& group : outcome.layout.apart) {
    for (const mosaic::PanelIndex panel : group) {
      outcome.left_out.push_back(fmt::format(
          "{}: {}", panels[panel].path,
          group.size() == 1
              ? "shows nothing that another panel shows"
              : "overlaps panels that overlap none of the others; record what lies between"));
    }
  }
}

void require_space(const mosaic::Layout& layout, const std::vector<PanelInput>& panels,
                   const RunControl& control) {
  if (layout.mosaic.area_px() > files::kMaxPicturePx)
    throw OutputError(fmt::format(
        "a mosaic of {} x {} pixels is larger than any picture that is written ({} million "
        "pixels); give fewer panels at a time, or smaller ones",
        layout.mosaic.width_px, layout.mosaic.height_px, files::kMaxPicturePx / 1'000'000));
  const auto channels = static_cast<double>(panels.front().channels);
  const double planes = kPlanesOfMosaic * channels + kPlanesOfFinish;
  require_memory(fmt::format("cannot finish a mosaic of {} x {} pixels", layout.mosaic.width_px,
                             layout.mosaic.height_px),
                 planes * sizeof(float) * static_cast<double>(layout.mosaic.area_px()),
                 control.resources, "give fewer panels at a time");
}

}  // namespace

MosaicOutcome run_mosaic(const MosaicRequest& given, const RunControl& control) {
  const Progress& progress = control.progress;
  MosaicOutcome outcome;
  outcome.request = complete(given);
  const MosaicTargets targets = mosaic_targets(outcome.request);
  check_request(outcome.request, targets, control.resources);
  std::vector<mosaic::Sketch> sketches;
  const std::vector<PanelInput> panels = read_panels(outcome, sketches, progress);
  const double most_bytes = control.resources.memory_bytes > 0
                                ? 0.5 * static_cast<double>(control.resources.memory_bytes)
                                : kHeldPanels;
  outcome.layout = mosaic::lay_out(
      sketches, [&](mosaic::PanelIndex panel) { return read_panel(panels[panel]); },
      {outcome.request.field, outcome.request.blur_match, outcome.request.light, most_bytes},
      progress);
  name_left_out(panels, outcome);
  require_space(outcome.layout, panels, control);
  Joined joined = join(outcome.layout, panels, most_bytes, progress);
  outcome.channels = joined.channels.size();
  outcome.covered = share_covered(joined.covered);
  outcome.holes = large_holes(joined.covered, panels[outcome.layout.group.front()].size);
  outcome.notes = mosaic_notes(panels, outcome.layout, outcome.holes);
  if (panels.front().has_halves) outcome.frc = frc_of(joined);
  const FinishInput input = joined_input(joined, panels, outcome);
  outcome.figures = mosaic_figures(panels, outcome.layout, outcome.covered, outcome.frc);
  const Look look =
      settled_look(look_of(outcome.request, input), input, targets.linear, outcome.notes);
  static_cast<void>(share_notes(look, input.cards, outcome.layout.mosaic));
  if (look.object == Object::sun)
    outcome.caution = sun_caution(look.object, outcome.request.panels, health::Kind::field);
  progress.step("restoring detail", 0, 1);
  const Finished finished = finish_picture(input.picture.view(), input.measured, look);
  outcome.figures.update(finished.figures);
  progress.step("writing", 0, 1);
  write_results(outcome, targets, input, finished, look, control);
  progress.step("writing", 1, 1);
  return outcome;
}

nlohmann::json to_json(const MosaicOutcome& outcome) {
  nlohmann::json out = outcome.figures;
  out["caution"] = outcome.caution.empty() ? nlohmann::json() : nlohmann::json(outcome.caution);
  out["left_out"] = files::name_texts(outcome.left_out);
  out["notes"] = outcome.notes;
  out["written"] = files::name_texts(outcome.written);
  return out;
}

MosaicRequest mosaic_request_of_recipe(const std::string& path) {
  return request_of(mosaic_options(), load_options(path), path);
}

}  // namespace lull::run
