#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <optional>
#include <utility>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/name_text.h"
#include "files/picture_bands.h"
#include "files/picture_file.h"
#include "files/recipe.h"
#include "files/results.h"
#include "run/disk_need.h"
#include "run/finish_picture.h"
#include "run/large_input.h"
#include "run/memory_need.h"
#include "run/mosaic_file.h"
#include "run/mosaic_header.h"
#include "run/mosaic_join.h"
#include "run/mosaic_map.h"
#include "run/mosaic_moved.h"
#include "run/mosaic_notes.h"
#include "run/mosaic_outcome.h"
#include "run/mosaic_report.h"
#include "run/outputs.h"
#include "run/panel_input.h"
#include "run/recipe_options.h"
#include "run/settled_look.h"
#include "run/share_notes.h"
#include "run/tiled_finish.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;

constexpr double kPlanesOfMosaic = 3;   // of each channel: light, noise, what is finished
constexpr double kPlanesOfFinish = 32;  // of one channel: finish_input.cpp
constexpr double kHeldPanels = 1.5e9;   // bytes of panels at a time, where --memory does not say
constexpr double kBytesASample = 2;     // of the picture: 16 bit, as if it did not shrink

struct MosaicTargets {
  std::string picture;
  std::string linear;
  std::string recipe;
  std::string share;
  std::string plot;
  std::string page;
};

MosaicTargets mosaic_targets(const MosaicRequest& request) {
  const fs::path picture = request.output;
  return {picture,
          fs::path(picture).replace_extension(".linear.fits"),
          fs::path(picture).replace_extension(".recipe.json"),
          request.look.share,
          request.plot,
          request.report_path()};
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
  check_results(
      {targets.picture, targets.linear, targets.recipe, targets.share, targets.plot, targets.page},
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

// Pictures without half stacks are finished already: they are joined as they are.
Look look_of(const MosaicRequest& request, const PanelInput& first) {
  Look look = request.look;
  if (first.has_halves) return look;
  if (std::holds_alternative<RestoreDetail>(look.detail)) look.detail = LeaveDetail{};
  if (first.channels == 3 && look.white_balance == WhiteBalanceChoice{WhiteBalanceRule::automatic})
    look.white_balance = WhiteBalanceRule::none;
  if (!look.black) look.black = 0;
  if (!look.white) look.white = 1;
  return look;
}

// As it can be had of panels like that one. @param cards  of the mosaic, as far as they are known.
Look look_for(const MosaicRequest& request, const PanelInput& panel,
              const std::vector<files::Card>& cards, const std::string& name,
              std::vector<std::string>& notes) {
  FinishInput like;
  like.has_halves = panel.has_halves;
  like.stretched = panel.stretched;
  like.measured.ratio = panel.ratio;
  like.cards = cards;
  return settled_look(look_of(request, panel), like, panel.channels, name, notes);
}

// The finished mosaic: whole, or in a file of its own, and then a reduced one is in memory.
struct FinishedMosaic {
  Finished finished;
  std::vector<files::Card> cards;  ///< of what is in memory
  files::Picture stack;            ///< light before that, as large
  std::optional<TiledFinished> tiled;
};

FinishedMosaic finish_mosaic(LargeInput& input, const Look& look, const MosaicTargets& targets,
                             const Progress& progress) {
  FinishedMosaic out;
  out.cards = input.rest.cards;
  progress.step("restoring detail", 0, 1);
  if (input.size().area_px() <= kMostWholePx) {
    FinishInput whole = whole_of(input);
    out.finished = finish_picture(whole.picture.view(), whole.measured, look);
    out.stack = std::move(whole.picture);
    if (input.rest.stretched) out.finished.transfer = files::Transfer::screen;
    return out;
  }
  out.tiled = finish_in_tiles(input, look, targets.picture, progress);
  if (input.rest.stretched) out.tiled->finished.transfer = files::Transfer::screen;
  out.finished = reduced_finished(*out.tiled, look);
  out.cards = reduced_cards(std::move(out.cards), out.tiled->side);
  out.stack = std::move(out.tiled->stack);
  return out;
}

void add_picture(MosaicOutcome& outcome, const MosaicTargets& targets, FinishedMosaic& finished,
                 const std::vector<files::Card>& cards, const Look& look, const Progress& progress,
                 files::Results& results) {
  results.add(
      targets.picture,
      [&](const fs::path& path) {
        outcome.clipped = finished.tiled ? write_tiled(path, *finished.tiled, cards, look, progress)
                                         : write_finished(path, finished.finished, cards, look);
      },
      files::Results::Format::of_name);
}

// What stands beside the picture and the linear mosaic.
void add_others(const MosaicOutcome& outcome, const std::vector<PanelInput>& panels,
                const MosaicTargets& targets, const FinishedMosaic& finished, const Look& look,
                files::Results& results) {
  files::Picture shared;
  if (!targets.share.empty()) {
    const draw::Annotation under = share_notes(look, finished.cards, finished.stack.size());
    shared = shared_copy(finished.finished, under);
    results.add(
        targets.share,
        [&](const fs::path& path) { write_shared(path, shared, under.caption, finished.cards); },
        files::Results::Format::of_name);
  }
  if (!targets.page.empty()) {
    results.add(targets.page, [&](const fs::path& path) {
      files::write_file(path,
                        mosaic_report(outcome, panels,
                                      {finished.stack, finished.finished, shared, finished.cards}));
    });
  }
  if (!targets.plot.empty()) {
    results.add(targets.plot,
                [&](const fs::path& path) { files::write_file(path, mosaic_map(outcome)); });
  }
  results.add(targets.recipe, [&](const fs::path& path) {
    files::save_recipe(path, {{"version", LULL_VERSION},
                              {"options", recipe_of(mosaic_options(), outcome.request)},
                              {"figures", outcome.figures}});
  });
}

std::vector<std::string> written_names(const MosaicTargets& targets, bool has_halves) {
  std::vector<std::string> out = {targets.picture};
  if (has_halves) out.push_back(targets.linear);
  if (!targets.share.empty()) out.push_back(targets.share);
  if (!targets.plot.empty()) out.push_back(targets.plot);
  if (!targets.page.empty()) out.push_back(targets.page);
  out.push_back(targets.recipe);
  return out;
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

std::vector<std::optional<double>> resolutions_of(const std::vector<PanelInput>& panels,
                                                  const mosaic::Layout& layout) {
  std::vector<std::optional<double>> out;
  for (std::size_t i = 0; i < panels.size(); ++i) {
    const auto& own = panels[i].resolution_px;
    out.push_back(own ? std::optional(*own * layout.maps[i].scale()) : std::nullopt);
  }
  return out;
}

// As soon as the size is known, before the hours.
void require_space(Size size, const std::vector<PanelInput>& panels, const MosaicRequest& request,
                   const Resources& resources) {
  const std::string what = fmt::format("a mosaic of {} x {} pixels", size.width_px, size.height_px);
  if (size.area_px() > files::kMaxBandsPx)
    throw OutputError(fmt::format(
        "{} is larger than any that is written ({} million pixels); give fewer panels at a time, "
        "or smaller ones",
        what, files::kMaxBandsPx / 1'000'000));
  const std::size_t channels = panels.front().channels;
  const auto samples = static_cast<double>(channels) * static_cast<double>(size.area_px());
  double disk = bytes_on_disk(size, channels, panels.front().has_halves) + kBytesASample * samples;
  double memory = bytes_to_join(panels);
  if (size.area_px() <= kMostWholePx) {
    const double planes = kPlanesOfMosaic * static_cast<double>(channels) + kPlanesOfFinish;
    memory = std::max(memory, planes * sizeof(float) * static_cast<double>(size.area_px()));
  } else {
    check_tiled_look(request.look, size);
    memory = std::max(memory, bytes_of_tiled_finish(size, channels));
    disk += disk_of_tiled_finish(size, channels);
  }
  require_memory("cannot join " + what, memory, resources, "give smaller panels, or fewer");
  require_disk(what, disk, request.output);
}

// The joined mosaic under a temporary name: that of a result where there are half stacks.
struct JoinedFile {
  fs::path path;
  JoinedMosaic joined;
  std::optional<files::AtomicFile> without_result;  ///< goes with this
};

void join_into(JoinedFile& file, const MosaicOutcome& outcome,
               const std::vector<PanelInput>& panels, const std::vector<files::Card>& cards,
               const MosaicTargets& targets, double most_bytes, const Progress& progress,
               files::Results& results) {
  const auto join = [&](const fs::path& path) {
    file.path = path;
    file.joined =
        join_panels(path, outcome.layout, outcome.moved, panels, cards, most_bytes, progress);
  };
  if (panels.front().has_halves) {
    results.add(targets.linear, join);
  } else {
    join(file.without_result.emplace(targets.linear).hand_over());
  }
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
  std::vector<std::string> said_later;
  const Look first =
      look_for(outcome.request, panels.front(), panels.front().cards, targets.linear, said_later);
  const Object shown =
      first.object == Object::unspecified ? object_in_names(outcome.request.panels) : first.object;
  const double most_bytes = control.resources.memory_bytes > 0
                                ? 0.5 * static_cast<double>(control.resources.memory_bytes)
                                : kHeldPanels;
  mosaic::LayoutOptions options{.bends = outcome.request.field,
                                .limb = limbs_of(outcome.request.limb, shown),
                                .blurs = outcome.request.blur_match,
                                .lights = outcome.request.light,
                                .most_bytes = most_bytes};
  options.foresee = [&](Size size, std::size_t /*panels*/) {
    require_space(size, panels, outcome.request, control.resources);
  };
  outcome.layout = mosaic::lay_out(
      sketches, [&](mosaic::PanelIndex panel) { return read_panel(panels[panel]); }, options,
      progress);
  outcome.moved =
      mosaic::moved_light(outcome.layout.mosaic, sketches, outcome.layout.maps,
                          links_over_time(panels, outcome.layout.links), outcome.layout.brightness);
  outcome.resolution_px = resolutions_of(panels, outcome.layout);
  name_left_out(panels, outcome);
  const PanelInput& typical = panels[mosaic::typical_panel(outcome.layout)];
  const std::vector<files::Card> cards = mosaic_cards(panels, outcome.layout);
  outcome.limb = joined_limb(outcome.layout, shown, cards);
  std::vector<std::string> notes;
  const Look look = look_for(outcome.request, typical, cards, targets.linear, notes);
  // What cannot be captioned is refused before the work.
  static_cast<void>(share_notes(look, cards, outcome.layout.mosaic));
  files::Results results;
  JoinedFile file;
  join_into(file, outcome, panels, cards, targets, most_bytes, progress, results);
  outcome.channels = typical.channels;
  outcome.covered = file.joined.covered;
  outcome.holes = file.joined.holes;
  outcome.frc = file.joined.frc;
  outcome.notes = mosaic_notes(panels, outcome.layout, outcome.resolution_px, outcome.holes);
  if (outcome.request.limb == LimbCircle::used && !outcome.limb)
    outcome.notes.emplace_back(
        "--limb circle: the panels show no edge of a disc against dark sky over 30 degrees or "
        "more; nothing was laid onto a circle");
  if (std::string note = pixel_scale_note(outcome.limb, cards); !note.empty())
    outcome.notes.push_back(std::move(note));
  const std::vector<std::string> moved = moved_notes(panels, outcome.moved);
  outcome.notes.insert(outcome.notes.end(), moved.begin(), moved.end());
  outcome.notes.insert(outcome.notes.end(), notes.begin(), notes.end());
  outcome.figures = mosaic_figures(panels, outcome.layout, outcome.covered, outcome.frc);
  outcome.figures["limb"] = joined_limb_json(outcome.limb);
  outcome.figures["moved_light"] = moved_json(panels, outcome.moved);
  LargeInput input(file.path);
  input.rest.cards = cards;
  input.rest.stretched = typical.stretched;
  if (shown == Object::sun)
    outcome.caution = sun_caution(shown, outcome.request.panels, health::Kind::field);
  FinishedMosaic finished = finish_mosaic(input, look, targets, progress);
  outcome.figures.update(finished.finished.figures);
  if (finished.tiled && !(targets.share.empty() && targets.page.empty()))
    outcome.notes.push_back(reduced_note(*finished.tiled, look));
  outcome.written = written_names(targets, typical.has_halves);
  outcome.viewing_hint =
      typical.has_halves ? viewing_hint(targets.picture, targets.share, finished.finished) : "";
  progress.step("writing", 0, 1);
  add_picture(outcome, targets, finished, cards, look, progress, results);
  add_others(outcome, panels, targets, finished, look, results);
  commit(results, control.resources);
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
