#include <fmt/format.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/commands.h"
#include "app/finish_input.h"
#include "app/finish_run.h"
#include "app/results.h"
#include "app/share_notes.h"
#include "core/error.h"
#include "files/atomic_file.h"
#include "files/picture_file.h"
#include "files/recipe.h"

namespace lull::app {

namespace {

namespace fs = std::filesystem;

FinishOptions from_recipe(const std::string& path, FinishOptions options) {
  const nlohmann::json recipe = files::load_recipe(path);
  try {
    const nlohmann::json& from = recipe.at("options");
    read_json(from, options);
    if (from.value("finish", "auto") == "none") options.detail = "none";
  } catch (const nlohmann::json::exception& error) {
    throw InputError(fmt::format("{}: the recipe lacks an option or has one of the wrong kind: {}",
                                 path, error.what()));
  }
  return options;
}

void check_files(const std::string& input, const std::vector<std::string>& outputs) {
  for (const std::string& output : outputs) {
    std::error_code ignored;
    if (fs::equivalent(input, output, ignored)) {
      throw UsageError(fmt::format(
          "{}: this is the picture to finish and would be overwritten; choose another name",
          output));
    }
    files::check_writable(output);
  }
}

bool undoes_air(const FinishPlan& plan) {
  return std::holds_alternative<finish::UndoAir>(plan.detail.how);
}

// What a picture without half stacks or without the comparison with its frames cannot tell.
void settle_detail(const FinishInput& input, FinishOptions& look, FinishPlan& plan,
                   std::vector<std::string>& notes) {
  if (!undoes_air(plan)) return;
  if (!input.has_halves) {
    notes.emplace_back(
        "detail is left as it is: the picture does not tell how the air blurred it. Take the "
        ".linear.fits of lull stack, or give --blur PX or --detail SIZE:GAIN,...");
    look.detail = "none";
    plan.detail.how = finish::KeepDetail{};
  } else if (input.evidence.ratio.empty()) {
    notes.emplace_back(
        "the stack was not compared with its frames (--finish none), so a usual blur is undone; "
        "stack with --finish auto to have it measured");
  }
}

// A second stretch would hide that it is one.
void check_tone(const FinishPlan& plan, const FinishInput& input, const std::string& name) {
  if (!input.stretched || plan.tone == finish::Tone::linear) return;
  throw UsageError(
      fmt::format("--tone: {} is stretched already; finish the linear stack instead, or "
                  "leave the option out",
                  name));
}

void print_summary(const FinishCommandOptions& options, const FinishInput& input,
                   const std::vector<std::string>& notes, const std::vector<std::string>& written,
                   const files::Clipped& clipped) {
  fmt::print("{}: {} x {} px, {}, {}\n", options.input, input.picture.size().width_px,
             input.picture.size().height_px, input.picture.channels.size() == 3 ? "colour" : "gray",
             input.has_halves ? "noise known from its half stacks"
                              : "noise estimated from the picture itself");
  for (const std::string& warning : input.warnings) fmt::print("warning: {}\n", warning);
  for (const std::string& note : notes) fmt::print("note: {}\n", note);
  if (clipped.below + clipped.above > 0) {
    fmt::print("16 bit: {} samples below black and {} above white were limited\n", clipped.below,
               clipped.above);
  }
  for (const std::string& path : written) fmt::print("wrote {}\n", path);
}

}  // namespace

void finish_stack(const FinishCommandOptions& options, const Progress& progress) {
  FinishOptions look =
      options.recipe.empty() ? options.look : from_recipe(options.recipe, options.look);
  FinishPlan plan = plan_of(look);
  static_cast<void>(files::format_of(options.output));
  const std::string recipe = fs::path(options.output).replace_extension(".finish.json");
  std::vector<std::string> outputs = {options.output, recipe};
  if (!look.share.empty()) outputs.push_back(look.share);
  check_files(options.input, outputs);

  progress.step("reading", 0, 1);
  const FinishInput input = read_finish_input(options.input);
  check_colours(look, input.picture.channels.size() == 3, options.input);
  check_tone(plan, input, options.input);
  const nlohmann::json asked = to_json(look);
  std::vector<std::string> notes;
  settle_detail(input, look, plan, notes);
  progress.step("restoring detail", 0, 1);
  const draw::Annotation under = share_notes(look, input.cards, input.picture.size().width_px);
  Finished finished = finish_picture(input.picture.view(), input.evidence, plan);
  if (input.stretched) finished.linear = false;
  progress.step("writing", 0, 1);
  Results results;
  files::Clipped clipped;
  results.add(
      options.output,
      [&](const auto& path) { clipped = write_finished(path, finished, input.cards, look); },
      Results::Format::of_name);
  if (!look.share.empty()) {
    results.add(
        look.share, [&](const auto& path) { write_shared(path, finished, under); },
        Results::Format::of_name);
  }
  results.add(recipe, [&](const auto& path) {
    nlohmann::json used = asked;
    used["stack"] = options.input;
    files::save_recipe(
        path, {{"version", LULL_VERSION}, {"options", used}, {"figures", finished.figures}});
  });
  results.commit();
  progress.step("writing", 1, 1);
  std::vector<std::string> written = {options.output, recipe};
  if (!look.share.empty()) written.push_back(look.share);
  if (options.json) {
    nlohmann::json run = finished.figures;
    run["stack"] = options.input;
    run["half_stacks"] = input.has_halves;
    run["warnings"] = input.warnings;
    run["notes"] = notes;
    run["written"] = written;
    fmt::print("{}\n", run.dump(1));
  } else {
    print_summary(options, input, notes, written, clipped);
  }
}

}  // namespace lull::app
