#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/name_text.h"
#include "files/recipe.h"
#include "files/results.h"
#include "run/finish_input.h"
#include "run/finish_outcome.h"
#include "run/finish_picture.h"
#include "run/finish_report.h"
#include "run/outputs.h"
#include "run/recipe_options.h"
#include "run/settled_look.h"
#include "run/share_notes.h"
#include "run/stack_header.h"

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

void write_results(FinishOutcome& outcome, const FinishInput& input, const Look& look,
                   const Finished& finished, const Resources& resources) {
  const FinishRequest& request = outcome.request;
  const draw::Annotation under = share_notes(look, input.cards, outcome.size);
  const std::string recipe = recipe_path(request);
  const std::string page = request.report_path();
  const files::Picture shared =
      look.share.empty() ? files::Picture{} : shared_copy(finished, under);
  outcome.written = {request.output, recipe};
  outcome.viewing_hint = viewing_hint(request.output, look.share, finished);
  files::Results results;
  results.add(
      request.output,
      [&](const auto& path) {
        outcome.clipped = write_finished(path, finished, input.cards, look);
      },
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
      files::write_file(path, finish_report(outcome, input, finished, shared));
    });
  }
  commit(results, resources);
}

}  // namespace

FinishOutcome run_finish(const FinishRequest& given, const RunControl& control) {
  const Progress& progress = control.progress;
  check_complete(finish_options(), given);
  FinishOutcome outcome;
  outcome.request = given;
  FinishRequest& request = outcome.request;
  if (request.output.empty()) request.output = name_after(request.input, "_finished.tif");
  check_request(request, control.resources);
  progress.step("reading", 0, 1);
  const FinishInput input = read_finish_input(request.input);
  outcome.size = input.picture.size();
  outcome.channels = input.picture.channels.size();
  outcome.has_halves = input.has_halves;
  outcome.warnings = input.warnings;
  const Look look = settled_look(request.look, input, request.input, outcome.notes);
  // What cannot be captioned is refused before the work.
  static_cast<void>(share_notes(look, input.cards, outcome.size));
  progress.step("restoring detail", 0, 1);
  Finished finished = finish_picture(input.picture.view(), input.measured, look);
  if (input.stretched) finished.transfer = files::Transfer::screen;
  outcome.figures = finished.figures;
  progress.step("writing", 0, 1);
  write_results(outcome, input, look, finished, control.resources);
  progress.step("writing", 1, 1);
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
