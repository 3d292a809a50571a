#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/air.h"
#include "app/choices.h"
#include "app/commands.h"
#include "app/enlargement_options.h"
#include "app/finish_run.h"
#include "app/linear_file.h"
#include "app/reading.h"
#include "app/results.h"
#include "app/share_notes.h"
#include "app/stack_cards.h"
#include "app/stack_figures.h"
#include "app/stack_recipe.h"
#include "app/stack_report.h"
#include "app/stack_summary.h"
#include "app/sun_caution.h"
#include "app/times.h"
#include "app/verdict.h"
#include "core/error.h"
#include "files/atomic_file.h"
#include "files/picture_file.h"
#include "files/recipe.h"
#include "health/health.h"
#include "stack/colour_frame.h"
#include "stack/frequency_fusion.h"
#include "stack/stacker.h"

namespace lull::app {

namespace {

namespace fs = std::filesystem;

double parse_patch(const std::string& text) {
  if (text == "auto") return 0;
  double value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end || !(value >= 16 && value <= 1024)) {
    throw UsageError(
        fmt::format("--patch {}: use auto or a side from 16 to 1024 pixels, such as 48", text));
  }
  return value;
}

bool parse_whole_frame(const std::string& text) {
  if (text == "covered" || text == "whole") return text == "whole";
  throw no_such_choice("--frame", text, {"covered", "whole"});
}

bool parse_finish(const std::string& text) {
  if (text == "auto" || text == "none") return text == "auto";
  throw no_such_choice("--finish", text, {"auto", "none"});
}

bool parse_dispersion(const std::string& text) {
  if (text == "auto" || text == "off") return text == "auto";
  throw no_such_choice("--dispersion", text, {"auto", "off"});
}

bool parse_fusion(const std::string& text) {
  if (text == "auto" || text == "frequency" || text == "selection") return text != "selection";
  throw no_such_choice("--fusion", text, {"auto", "frequency", "selection"});
}

void check_fusion(const StackCommandOptions& options, const capture::CaptureInfo& info) {
  if (options.fusion != "frequency") return;
  if (options.scale != "1") {
    throw UsageError(fmt::format(
        "--fusion frequency: a stack of --scale {} is summed from drops, by selection; use auto or "
        "selection",
        options.scale));
  }
  if (!stack::FrequencyFusion::fits(info.size)) {
    throw UsageError(fmt::format(
        "--fusion frequency: frames of {} x {} px are too small or too large for it; use auto or "
        "selection",
        info.size.width_px, info.size.height_px));
  }
}

// --finish none is short for leaving detail as it is.
FinishOptions look_of(const StackCommandOptions& options) {
  FinishOptions look = options.look;
  if (parse_finish(options.finish)) return look;
  if (look.detail != "auto" || look.blur_px > 0) {
    throw UsageError("--finish none leaves detail as it is; leave out --detail and --blur, or it");
  }
  look.detail = "none";
  return look;
}

void check_keep(const quality::Keep& keep, const survey::Survey& survey, const std::string& text) {
  const auto* count = std::get_if<quality::KeepCount>(&keep);
  const auto frames = static_cast<std::int64_t>(survey.records.size());
  if (count == nullptr || count->frames <= frames) return;
  throw UsageError(
      fmt::format("--keep {}: the capture has only {} frames; give fewer, or a share such as 15%",
                  text, frames));
}

fs::path beside(const fs::path& output, const char* ending) {
  fs::path path = output;
  return path.replace_extension(ending);
}

files::PictureView linear_view(const stack::StackResult& result) {
  files::PictureView view;
  for (const stack::ColourResult& colour : result.colours)
    view.channels.push_back(colour.picture.view());
  if (view.channels.empty()) view.channels.push_back(result.picture.view());
  return view;
}

}  // namespace

void stack(const StackCommandOptions& given, const Progress& progress) {
  const StackCommandOptions options = given.recipe.empty() ? given : from_recipe(given);
  if (options.input.capture.empty()) {
    throw UsageError("stack: name a capture, or a recipe of an earlier run with --recipe");
  }
  stack::StackOptions stack_options;
  stack_options.keep = quality::parse_keep(options.keep);
  stack_options.patch_px = parse_patch(options.patch);
  stack_options.whole_frame = parse_whole_frame(options.frame);
  stack_options.memory_bytes = options.input.memory_bytes / 4;
  stack_options.fuse_frequencies = parse_fusion(options.fusion);
  stack_options.enlargement = parse_enlargement(options.scale, options.pixfrac);
  stack_options.mend_dispersion = parse_dispersion(options.dispersion);
  static_cast<void>(reading_of(options.input));
  const FinishOptions look = look_of(options);
  const FinishPlan plan = plan_of(look);
  const bool finished = look.detail != "none";
  const bool linear_apart = changes_light(look);
  stack_options.compare_frames = finished;
  const auto metric = parse_metric(options.input.metric);
  static_cast<void>(files::format_of(options.output));
  const std::string linear = beside(options.output, ".linear.fits");
  const std::string recipe = beside(options.output, ".recipe.json");
  for (const std::string& result : {options.output, recipe}) check_output(result, options.input);
  if (linear_apart) check_output(linear, options.input);
  if (!look.share.empty()) check_output(look.share, options.input);
  const std::string page = report_path(options);
  if (!page.empty()) check_output(page, options.input);
  const auto optics = optics_of(options.optics);
  static_cast<void>(parse_object(options.object));
  stack_options.illustrate = !page.empty();

  const Opened opened = open_capture(options.input, progress);
  const auto& frames = opened.frames;
  check_fusion(options, frames->info());
  check_enlargement(stack_options.enlargement, frames->info(), options.input.memory_bytes);
  check_colours(look, stack::has_colour(frames->info()), frames->info().path);
  std::optional<health::TurbulenceProbe> probe;
  if (optics) probe.emplace(frames->info(), optics->cutoff_cycles_per_px());
  health::Health health;
  if (page.empty()) {
    survey::SurveyOptions wanted{metric, {}};
    if (probe) wanted.watchers.push_back(&*probe);
    health.survey = survey::survey_capture(*frames, wanted, progress);
  } else {
    const health::HealthOptions wanted{metric, calibrates(options.input), pattern_of(opened), true,
                                       probe ? &*probe : nullptr};
    health = health::examine(*frames, wanted, progress);
  }
  const std::optional<Air> air = air_of(probe, optics);
  const survey::Survey& survey = health.survey;
  require_usable(survey, options.input.capture, 2, "a stack");
  check_keep(stack_options.keep, survey, options.keep);
  const stack::StackResult result = stack::stack(*frames, survey, stack_options, progress);
  std::vector<std::string> written = {options.output};
  files::Clipped clipped;
  nlohmann::json run = stack_figures(opened, survey, result, enlarged(optics, result.scale()));
  run["air"] = to_json(air);
  const auto times = exposure_times(frames->info(), survey, result.kept);
  if (times) run["utc"] = to_json(*times);
  const finish::Evidence evidence = evidence_of(result);
  const Finished picture = finish_picture(linear_view(result), evidence, plan);
  run.update(picture.figures);
  const std::vector<files::Card> cards = stack_cards(options, opened, times, survey, result, air);
  const draw::Annotation under = share_notes(look, cards, result.picture.width());
  const auto keep_linear = [&](const fs::path& path) {
    write_linear(path, linear_view(result), cards, evidence, result.effective_frames);
  };
  Results results;
  results.add(
      options.output,
      [&](const auto& path) {
        if (linear_apart || files::format_of(options.output) != files::Format::fits) {
          clipped = write_finished(path, picture, cards, look);
        } else {
          keep_linear(path);
        }
      },
      Results::Format::of_name);
  if (linear_apart) {
    results.add(linear, keep_linear);
    written.push_back(linear);
  }
  if (!look.share.empty()) {
    results.add(
        look.share, [&](const auto& path) { write_shared(path, picture, under); },
        Results::Format::of_name);
    written.push_back(look.share);
  }
  results.add(recipe, [&](const auto& path) {
    files::save_recipe(
        path, {{"version", LULL_VERSION}, {"options", recipe_options(options)}, {"figures", run}});
  });
  written.push_back(recipe);
  if (!page.empty()) written.push_back(page);
  const StackRun done{options,
                      recipe_options(options),
                      recipe_options(StackCommandOptions{}),
                      frames->info(),
                      health,
                      result,
                      run,
                      air,
                      times,
                      linear_view(result),
                      picture.picture.view(),
                      linear_apart,
                      picture.linear,
                      written};
  if (!page.empty()) {
    progress.step("report", 0, 1);
    results.add(page, [&](const auto& path) { files::write_file(path, stack_report(done)); });
  }
  progress.step("writing", 1, 1);
  results.commit();
  std::vector<std::string> notes = frames->info().notes;
  if (std::string still = stands_still(survey, calibrates(options.input)); !still.empty())
    notes.push_back(std::move(still));
  const std::string caution =
      sun_caution(parse_object(options.object), options.input.capture, health.place.kind);
  if (options.input.json) {
    run["caution"] = caution.empty() ? nlohmann::json() : nlohmann::json(caution);
    run["capture"] = options.input.capture;
    run["notes"] = notes;
    run["written"] = written;
    fmt::print("{}\n", run.dump(1));
  } else {
    print_summary(done, notes, clipped);
    if (!caution.empty()) fmt::print("{}\n", caution);
  }
}

}  // namespace lull::app
