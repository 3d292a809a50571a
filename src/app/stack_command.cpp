#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/choices.h"
#include "app/commands.h"
#include "app/results.h"
#include "app/verdict.h"
#include "core/error.h"
#include "finish/detail.h"
#include "output/atomic_file.h"
#include "output/fits.h"
#include "output/picture_file.h"
#include "output/recipe.h"
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

fs::path beside(const fs::path& output, const char* ending) {
  fs::path path = output;
  return path.replace_extension(ending);
}

// Options that decide the bytes of the result; threads and memory do not.
nlohmann::json recipe_options(const StackCommandOptions& options) {
  return {{"capture", options.input.capture}, {"dark", options.input.dark},
          {"flat", options.input.flat},       {"flat_dark", options.input.flat_dark},
          {"metric", options.input.metric},   {"keep", options.keep},
          {"patch", options.patch},           {"frame", options.frame},
          {"finish", options.finish}};
}

// Options of an earlier run; what the command line names (the capture, if any, and the output)
// goes before them.
StackCommandOptions from_recipe(StackCommandOptions options) {
  const nlohmann::json recipe = output::load_recipe(options.recipe);
  try {
    const nlohmann::json& from = recipe.at("options");
    const auto text = [&from](const char* key) { return from.at(key).get<std::string>(); };
    if (options.input.capture.empty()) options.input.capture = text("capture");
    options.input.dark = text("dark");
    options.input.flat = text("flat");
    options.input.flat_dark = text("flat_dark");
    options.input.metric = text("metric");
    options.keep = text("keep");
    options.patch = text("patch");
    options.frame = text("frame");
    options.finish = text("finish");
  } catch (const nlohmann::json::exception& error) {
    throw InputError(fmt::format("{}: the recipe lacks an option or has one of the wrong kind: {}",
                                 options.recipe, error.what()));
  }
  return options;
}

nlohmann::json figures(const stack::Survey& survey, const stack::StackResult& result) {
  nlohmann::json rings = nlohmann::json::array();
  for (const auto& ring : result.frc.rings) {
    rings.push_back({{"cycles_per_px", ring.frequency}, {"correlation", ring.correlation}});
  }
  nlohmann::json steps = nlohmann::json::array();
  for (const auto& step : result.steps) {
    steps.push_back({{"frames", step.frames},
                     {"information_bits", step.information_bits},
                     {"resolution_cycles_per_px", step.resolution}});
  }
  const auto resolution = result.frc.resolution();
  const auto half_bit = result.frc.half_bit_resolution();
  nlohmann::json out = {{"frames", survey.records.size()},
                        {"usable", survey.usable()},
                        {"kept", result.kept.size()},
                        {"target", quality::target_name(survey.target.kind)},
                        {"metric", quality::metric_name(survey.metric)},
                        {"patch_px", result.patch_px},
                        {"noise", result.noise},
                        {"local_shift_rms_px", result.local_shift_rms_px},
                        {"crop", {result.crop.x0, result.crop.y0, result.crop.x1, result.crop.y1}},
                        {"frc", rings},
                        {"keep_steps", steps},
                        {"kept_frames", result.kept}};
  out["resolution_px"] = resolution ? nlohmann::json(1 / *resolution) : nlohmann::json();
  out["half_bit_resolution_px"] = half_bit ? nlohmann::json(1 / *half_bit) : nlohmann::json();
  for (const Reject reason : {Reject::damaged, Reject::black, Reject::saturated, Reject::doubled,
                              Reject::lost_target, Reject::weak_peak}) {
    out["left_out"][std::string(reject_name(reason))] = survey.count(reason);
  }
  return out;
}

output::Metadata metadata(const StackCommandOptions& options, const stack::Survey& survey,
                          const stack::StackResult& result, bool finished) {
  output::Metadata out;
  out.description =
      fmt::format("{} of the best {} of {} frames of {}",
                  finished ? "Stack with restored detail" : "Linear stack", result.kept.size(),
                  survey.records.size(), fs::path(options.input.capture).filename().string());
  const auto count = [](std::size_t n) { return static_cast<std::int64_t>(n); };
  out.cards = {{"NFRAMES", count(survey.records.size()), "frames in the capture"},
               {"NUSABLE", survey.usable(), "frames that can be used"},
               {"NKEPT", count(result.kept.size()), "frames in the stack"},
               {"KEEP", options.keep, "option: part of the frames kept"},
               {"METRIC", std::string(quality::metric_name(survey.metric)), "sharpness measure"},
               {"PATCH", result.patch_px, "[px] side of the patches"},
               {"FINISH", std::string(finished ? "auto" : "none"), "option: detail restoration"},
               {"NOISE", result.noise, "noise of a pixel of the linear stack"}};
  if (const auto resolution = result.frc.resolution()) {
    out.cards.push_back({"RESOL", 1 / *resolution, "[px] finest period with FRC over 1/7"});
  }
  return out;
}

// 16-bit integers: the smallest power of two that holds the brightest pixel is white, so that
// values stay exact multiples and a dim capture keeps its levels.
output::Encoding encoding_for(const Plane& picture) {
  float highest = 0;
  for (int y = 0; y < picture.height(); ++y) {
    highest =
        std::max(highest, *std::max_element(picture.row(y), picture.row(y) + picture.width()));
  }
  double white = 1;
  while (white < static_cast<double>(highest)) white *= 2;
  while (white > 1.0 / 256 && white / 2 >= static_cast<double>(highest)) white /= 2;
  return {0, white};
}

void print_summary(const StackCommandOptions& options, const capture::CaptureInfo& info,
                   const stack::Survey& survey, const stack::StackResult& result,
                   const std::vector<std::string>& written, const output::Clipped& clipped) {
  fmt::print("{}: kept {} of {} frames ({} usable), {} x {} px\n", info.path, result.kept.size(),
             survey.records.size(), survey.usable(), result.picture.width(),
             result.picture.height());
  for (const std::string& note : info.notes) fmt::print("note: {}\n", note);
  if (const auto resolution = result.frc.resolution()) {
    fmt::print("resolution: {:.2f} px (finest period whose half stacks correlate, FRC over 1/7)\n",
               1 / *resolution);
  } else {
    fmt::print(
        "resolution: none; the half stacks share no detail. More frames or a better night?\n");
  }
  fmt::print("noise: {:.2e} of full scale; regions moved by {:.2f} px rms on their own\n",
             result.noise, result.local_shift_rms_px);
  if (clipped.below + clipped.above > 0) {
    fmt::print("16 bit: {} samples below black and {} above white were limited; {} has them all\n",
               clipped.below, clipped.above,
               options.finish == "none" ? "a FITS file" : "the linear FITS file");
  }
  for (const std::string& path : written) fmt::print("wrote {}\n", path);
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
  const bool finished = parse_finish(options.finish);
  const stack::SurveyOptions survey_options{parse_metric(options.input.metric)};
  static_cast<void>(output::format_of(options.output));
  const std::string linear = beside(options.output, ".linear.fits");
  const std::string recipe = beside(options.output, ".recipe.json");
  for (const std::string& result : {options.output, recipe}) check_output(result, options.input);
  if (finished) check_output(linear, options.input);

  const auto frames = open_capture(options.input, progress);
  const stack::Survey survey = stack::survey(*frames, survey_options, progress);
  require_usable(survey, options.input.capture, 2, "a stack");
  const stack::StackResult result = stack::stack(*frames, survey, stack_options, progress);
  std::vector<std::string> written = {options.output};
  output::Clipped clipped;
  nlohmann::json run = figures(survey, result);
  Results results;
  const auto add_picture = [&](const Plane& picture) {
    results.add(
        options.output,
        [&](const auto& path) {
          clipped = output::write_picture(path, {{picture.view()}}, encoding_for(picture),
                                          metadata(options, survey, result, finished));
        },
        Results::Format::of_name);
  };
  if (finished) {
    const finish::DetailResult detail = finish::restore_detail(
        result.picture.view(), {result.halves[0].view(), result.halves[1].view(), result.frc});
    run["detail_gains"] = detail.gains;
    add_picture(detail.picture);
    results.add(linear, [&](const auto& path) {
      output::write_fits_float(path, {{result.picture.view()}},
                               metadata(options, survey, result, false));
    });
    written.push_back(linear);
  } else {
    add_picture(result.picture);
  }
  results.add(recipe, [&](const auto& path) {
    output::save_recipe(
        path, {{"version", LULL_VERSION}, {"options", recipe_options(options)}, {"figures", run}});
  });
  written.push_back(recipe);
  progress.step("writing", 1, 1);
  results.commit();
  if (options.input.json) {
    run["capture"] = options.input.capture;
    run["notes"] = frames->info().notes;
    run["written"] = written;
    fmt::print("{}\n", run.dump(1));
  } else {
    print_summary(options, frames->info(), survey, result, written, clipped);
  }
}

}  // namespace lull::app
