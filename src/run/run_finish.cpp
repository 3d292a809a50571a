#include <fmt/format.h>

#include <filesystem>
#include <functional>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/name_text.h"
#include "files/recipe.h"
#include "files/results.h"
#include "run/disk_need.h"
#include "run/finish_input.h"
#include "run/finish_outcome.h"
#include "run/finish_picture.h"
#include "run/finish_report.h"
#include "run/large_input.h"
#include "run/memory_need.h"
#include "run/outputs.h"
#include "run/recipe_options.h"
#include "run/settled_look.h"
#include "run/share_notes.h"
#include "run/stack_header.h"
#include "run/tiled_finish.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;

std::string recipe_path(const FinishRequest& request) {
  return fs::path(request.output).replace_extension(".finish.json");
}

void check_request(const FinishRequest& request, const Resources& resources) {
  check_look(request.look);
  static_cast<void>(files::format_of(request.output));
  check_results({request.output, recipe_path(request), request.look.share, request.report_path()},
                {request.input}, resources);
}

// What is finished, and how the picture gets into its file.
struct Work {
  FinishInput input;               ///< of a large mosaic reduced, as `finished` is
  std::vector<files::Card> cards;  ///< of the picture in its full size
  Finished finished;
  std::function<files::Clipped(const fs::path&)> write_picture;
};

void write_results(FinishOutcome& outcome, const Look& look, const Work& work,
                   const Resources& resources) {
  const FinishRequest& request = outcome.request;
  const FinishInput& input = work.input;
  const draw::Annotation under = share_notes(look, input.cards, input.picture.size());
  const std::string recipe = recipe_path(request);
  const std::string page = request.report_path();
  const files::Picture shared =
      look.share.empty() ? files::Picture{} : shared_copy(work.finished, under);
  outcome.written = {request.output, recipe};
  outcome.viewing_hint = viewing_hint(request.output, look.share, work.finished);
  files::Results results;
  results.add(
      request.output, [&](const auto& path) { outcome.clipped = work.write_picture(path); },
      files::Results::Format::of_name);
  if (!look.share.empty()) {
    results.add(
        look.share,
        [&](const auto& path) { write_shared(path, shared, under.caption, input.cards); },
        files::Results::Format::of_name);
    outcome.written.push_back(look.share);
  }
  results.add(recipe, [&](const auto& path) {
    nlohmann::json options = recipe_of(look_options(), request.look);
    options["stack"] = files::name_text(request.input);
    files::save_recipe(
        path,
        {{"version", LULL_VERSION}, {"options", std::move(options)}, {"figures", outcome.figures}});
  });
  if (!page.empty()) {
    outcome.written.push_back(page);
    results.add(page, [&](const auto& path) {
      files::write_file(path, finish_report(outcome, input, work.finished, shared));
    });
  }
  commit(results, resources);
}

// In memory as a whole.
void finish_whole(FinishOutcome& outcome, const RunControl& control) {
  const FinishRequest& request = outcome.request;
  Work work;
  work.input = read_finish_input(request.input);
  const FinishInput& input = work.input;
  work.cards = input.cards;
  outcome.size = input.picture.size();
  outcome.channels = input.picture.channels.size();
  outcome.has_halves = input.has_halves;
  outcome.warnings = input.warnings;
  const Look look = settled_look(request.look, input, request.input, outcome.notes);
  // What cannot be captioned is refused before the work.
  static_cast<void>(share_notes(look, input.cards, outcome.size));
  control.progress.step("restoring detail", 0, 1);
  work.finished = finish_picture(input.picture.view(), input.measured, look);
  if (input.stretched) work.finished.transfer = files::Transfer::screen;
  outcome.figures = work.finished.figures;
  work.write_picture = [&](const fs::path& path) {
    return write_finished(path, work.finished, work.cards, look);
  };
  control.progress.step("writing", 0, 1);
  write_results(outcome, look, work, control.resources);
}

// A mosaic that need not fit into memory: a reduced picture stands for it on the page.
void finish_large(FinishOutcome& outcome, const RunControl& control) {
  const FinishRequest& request = outcome.request;
  LargeInput large(request.input);
  outcome.size = large.size();
  outcome.channels = large.channels();
  outcome.has_halves = large.has_halves();
  check_tiled_look(request.look, outcome.size);
  const Look look =
      settled_look(request.look, large.rest, outcome.channels, request.input, outcome.notes);
  static_cast<void>(share_notes(look, large.rest.cards, outcome.size));
  const std::string what =
      fmt::format("a mosaic of {} x {} pixels", outcome.size.width_px, outcome.size.height_px);
  require_memory("cannot finish " + what, bytes_of_tiled_finish(outcome.size, outcome.channels),
                 control.resources, "close other programs");
  require_disk(what, 1.5 * disk_of_tiled_finish(outcome.size, outcome.channels), request.output);
  TiledFinished tiled = finish_in_tiles(large, look, request.output, control.progress);
  Work work;
  work.cards = large.rest.cards;
  work.input = std::move(large.rest);
  work.input.cards = reduced_cards(work.cards, tiled.side);
  work.finished = reduced_finished(tiled, look);
  work.input.picture = std::move(tiled.stack);
  outcome.notes.push_back(reduced_note(tiled, look));
  outcome.figures = work.finished.figures;
  work.write_picture = [&](const fs::path& path) {
    return write_tiled(path, tiled, work.cards, look, control.progress);
  };
  control.progress.step("writing", 0, 1);
  write_results(outcome, look, work, control.resources);
}

}  // namespace

FinishOutcome run_finish(const FinishRequest& given, const RunControl& control) {
  check_complete(finish_options(), given);
  FinishOutcome outcome;
  outcome.request = given;
  FinishRequest& request = outcome.request;
  if (request.output.empty()) request.output = name_after(request.input, "_finished.tif");
  check_request(request, control.resources);
  control.progress.step("reading", 0, 1);
  if (is_large_mosaic(request.input))
    finish_large(outcome, control);
  else
    finish_whole(outcome, control);
  control.progress.step("writing", 1, 1);
  return outcome;
}

nlohmann::json to_json(const FinishOutcome& outcome) {
  nlohmann::json out = outcome.figures;
  out["stack"] = files::name_text(outcome.request.input);
  out["half_stacks"] = outcome.has_halves;
  out["warnings"] = outcome.warnings;
  out["notes"] = outcome.notes;
  out["written"] = files::name_texts(outcome.written);
  return out;
}

FinishRequest finish_request_of_recipe(const std::string& path) {
  const nlohmann::json options = load_options(path);
  FinishRequest request;
  request.look = request_of(look_options(), options, path);
  if (options.value("finish", nlohmann::json("auto")) == "none")
    request.look.detail = LeaveDetail{};
  return request;
}

}  // namespace lull::run
