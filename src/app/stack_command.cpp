#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/choices.h"
#include "app/commands.h"
#include "app/finish_run.h"
#include "app/linear_file.h"
#include "app/reading.h"
#include "app/results.h"
#include "app/stack_cards.h"
#include "app/stack_report.h"
#include "app/sun_caution.h"
#include "app/times.h"
#include "app/verdict.h"
#include "core/error.h"
#include "health/health.h"
#include "output/atomic_file.h"
#include "output/fits.h"
#include "output/picture_file.h"
#include "output/recipe.h"
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
  if (stack::has_colour(info)) {
    throw UsageError(fmt::format(
        "--fusion frequency: {} is in colour, whose samples are summed as they are; use auto or "
        "selection",
        info.path));
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

void check_keep(const quality::Keep& keep, const stack::Survey& survey, const std::string& text) {
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

// Options that decide the bytes of the result and of the report; threads and memory do not.
nlohmann::json recipe_options(const StackCommandOptions& options) {
  nlohmann::json out = to_json(options.look);
  out.update({{"capture", options.input.capture},
              {"dark", options.input.dark},
              {"flat", options.input.flat},
              {"flat_dark", options.input.flat_dark},
              {"cfa", options.input.cfa},
              {"byte_order", options.input.byte_order},
              {"pixel_format", options.input.pixel_format},
              {"pattern_noise", options.input.pattern_noise},
              {"metric", options.input.metric},
              {"keep", options.keep},
              {"patch", options.patch},
              {"frame", options.frame},
              {"finish", options.finish},
              {"dispersion", options.dispersion},
              {"fusion", options.fusion},
              {"aperture", options.optics.aperture_mm},
              {"focal_length", options.optics.focal_length_mm},
              {"pixel", options.optics.pixel_um},
              {"wavelength", options.optics.wavelength_nm},
              {"object", options.object}});
  return out;
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
    // Recipes of earlier versions say nothing of these.
    options.input.cfa = from.value("cfa", options.input.cfa);
    options.input.byte_order = from.value("byte_order", options.input.byte_order);
    options.input.pixel_format = from.value("pixel_format", options.input.pixel_format);
    options.input.pattern_noise = from.value("pattern_noise", "off");
    options.input.metric = text("metric");
    options.keep = text("keep");
    options.patch = text("patch");
    options.frame = text("frame");
    options.finish = text("finish");
    options.dispersion = text("dispersion");
    options.fusion = from.value("fusion", "selection");
    read_json(from, options.look);
    if (options.object == "auto") options.object = from.value("object", options.object);
    if (options.optics.aperture_mm == 0) {
      OpticsOptions& optics = options.optics;
      optics.aperture_mm = from.value("aperture", optics.aperture_mm);
      optics.focal_length_mm = from.value("focal_length", optics.focal_length_mm);
      optics.pixel_um = from.value("pixel", optics.pixel_um);
      optics.wavelength_nm = from.value("wavelength", optics.wavelength_nm);
    }
  } catch (const nlohmann::json::exception& error) {
    throw InputError(fmt::format("{}: the recipe lacks an option or has one of the wrong kind: {}",
                                 options.recipe, error.what()));
  }
  return options;
}

nlohmann::json pattern_json(const Opened& opened) {
  if (opened.pattern.planes.empty()) return nullptr;
  return {{"columns_rms_adu", opened.pattern.columns_rms_adu()},
          {"rows_rms_adu", opened.pattern.rows_rms_adu()},
          {"taken_off", opened.pattern_removed ? opened.pattern.words() : ""}};
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
  nlohmann::json ratio = nlohmann::json::array();
  for (const auto& ring : result.ratio) {
    ratio.push_back({{"cycles_per_px", ring.frequency},
                     {"kept_power", ring.kept_power},
                     {"frame_power", ring.frame_power},
                     {"frame_noise", ring.frame_noise}});
  }
  nlohmann::json dispersion = nlohmann::json::array();
  for (const auto& colour : result.colours)
    dispersion.push_back({colour.dispersion.x_px, colour.dispersion.y_px});
  const auto resolution = result.frc.resolution();
  const auto half_bit = result.frc.half_bit_resolution();
  nlohmann::json out = {{"frames", survey.records.size()},
                        {"usable", survey.usable()},
                        {"kept", result.kept.size()},
                        {"target", quality::target_name(survey.target.kind)},
                        {"metric", quality::metric_name(survey.metric)},
                        {"patch_px", result.patch_px},
                        {"fusion", result.fused ? "frequency" : "selection"},
                        {"noise", result.noise},
                        {"local_shift_rms_px", result.local_shift_rms_px},
                        {"crop", {result.crop.x0, result.crop.y0, result.crop.x1, result.crop.y1}},
                        {"frc", rings},
                        {"keep_steps", steps},
                        {"spectral_ratio", ratio},
                        {"dispersion_px", dispersion},
                        {"kept_frames", result.kept}};
  out["resolution_px"] = resolution ? nlohmann::json(1 / *resolution) : nlohmann::json();
  out["half_bit_resolution_px"] = half_bit ? nlohmann::json(1 / *half_bit) : nlohmann::json();
  for (const Reject reason : {Reject::damaged, Reject::black, Reject::saturated, Reject::doubled,
                              Reject::lost_target, Reject::weak_peak}) {
    out["left_out"][std::string(reject_name(reason))] = survey.count(reason);
  }
  return out;
}

std::vector<output::Card> stack_cards(const StackCommandOptions& options, const Opened& opened,
                                      const std::optional<ExposureTimes>& times,
                                      const stack::Survey& survey,
                                      const stack::StackResult& result) {
  const auto count = [](std::size_t n) { return static_cast<std::int64_t>(n); };
  std::vector<output::Card> cards = {
      {"CAPTURE", fs::path(options.input.capture).filename().string(), "file name"},
      {"NFRAMES", count(survey.records.size()), "frames in the capture"},
      {"NUSABLE", survey.usable(), "frames that can be used"},
      {"NKEPT", count(result.kept.size()), "frames in the stack"},
      {"KEEP", options.keep, "option: part of the frames kept"},
      {"METRIC", std::string(quality::metric_name(survey.metric)), "sharpness measure"},
      {"PATCH", result.patch_px, "[px] side of the patches"},
      {"FUSION", std::string(result.fused ? "frequency" : "selection"), "how frames were summed"},
      {"NOISE", result.noise, "noise of a pixel of the linear stack"}};
  if (const auto resolution = result.frc.resolution())
    cards.push_back({"RESOL", 1 / *resolution, "[px] finest period with FRC over 1/7"});
  if (opened.pattern_removed) {
    cards.push_back(
        {"PATCOL", opened.pattern.columns_rms_adu(), "[adu] pattern of the columns, rms"});
    cards.push_back({"PATROW", opened.pattern.rows_rms_adu(), "[adu] pattern of the rows, rms"});
    cards.push_back({"PATOFF", opened.pattern.words(), "pattern noise taken off"});
  }
  if (times) {
    const auto dates = time_cards(*times);
    cards.insert(cards.end(), dates.begin(), dates.end());
  }
  return cards;
}

output::PictureView linear_view(const stack::StackResult& result) {
  output::PictureView view;
  for (const stack::ColourResult& colour : result.colours)
    view.channels.push_back(colour.picture.view());
  if (view.channels.empty()) view.channels.push_back(result.picture.view());
  return view;
}

void print_summary(const StackCommandOptions& options, const capture::CaptureInfo& info,
                   const stack::Survey& survey, const stack::StackResult& result,
                   const nlohmann::json& run, const std::vector<std::string>& written,
                   const output::Clipped& clipped, const std::string& caution) {
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
  if (!result.colours.empty() && options.dispersion == "auto") {
    const Shift& red = result.colours[0].dispersion;
    const Shift& blue = result.colours[2].dispersion;
    fmt::print(
        "colour: red lay {:.2f}, {:.2f} px (right, down) from green, blue {:.2f}, {:.2f} px\n",
        red.x_px, red.y_px, blue.x_px, blue.y_px);
  }
  if (options.look.white_balance != "none") {
    const auto factors = run.at("white_balance").get<finish::WhiteBalance>();
    fmt::print(
        "white balance: red x {:.3f}, green x {:.3f}, blue x {:.3f}; not in the linear FITS\n",
        factors[0], factors[1], factors[2]);
  }
  const bool has_linear = std::any_of(written.begin(), written.end(), [](const std::string& path) {
    return path.ends_with(".linear.fits");
  });
  if (clipped.below + clipped.above > 0) {
    fmt::print("16 bit: {} samples below black and {} above white were limited; {} has them all\n",
               clipped.below, clipped.above, !has_linear ? "a FITS file" : "the linear FITS file");
  }
  for (const std::string& path : written) fmt::print("wrote {}\n", path);
  if (!caution.empty()) fmt::print("{}\n", caution);
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
  stack_options.mend_dispersion = parse_dispersion(options.dispersion);
  static_cast<void>(reading_of(options.input));
  const FinishOptions look = look_of(options);
  const FinishPlan plan = plan_of(look);
  const bool finished = look.detail != "none";
  const bool linear_apart = changes_light(look);
  stack_options.compare_frames = finished;
  const stack::SurveyOptions survey_options{parse_metric(options.input.metric)};
  static_cast<void>(output::format_of(options.output));
  const std::string linear = beside(options.output, ".linear.fits");
  const std::string recipe = beside(options.output, ".recipe.json");
  for (const std::string& result : {options.output, recipe}) check_output(result, options.input);
  if (linear_apart) check_output(linear, options.input);
  if (!look.share.empty()) check_output(look.share, options.input);
  const std::string page = report_path(options);
  if (!page.empty()) check_output(page, options.input);
  static_cast<void>(optics_of(options.optics));
  static_cast<void>(parse_object(options.object));
  stack_options.illustrate = !page.empty();

  const Opened opened = open_capture(options.input, progress);
  const auto& frames = opened.frames;
  check_fusion(options, frames->info());
  check_colours(look, stack::has_colour(frames->info()), frames->info().path);
  health::Health health;
  if (page.empty()) {
    health.survey = stack::survey(*frames, survey_options, progress);
  } else {
    const health::HealthOptions wanted{survey_options.metric, calibrates(options.input),
                                       pattern_of(opened), true};
    health = health::examine(*frames, wanted, progress);
  }
  const stack::Survey& survey = health.survey;
  require_usable(survey, options.input.capture, 2, "a stack");
  check_keep(stack_options.keep, survey, options.keep);
  const stack::StackResult result = stack::stack(*frames, survey, stack_options, progress);
  std::vector<std::string> written = {options.output};
  output::Clipped clipped;
  nlohmann::json run = figures(survey, result);
  run["pattern_noise"] = pattern_json(opened);
  const auto times = exposure_times(frames->info(), survey, result.kept);
  if (times) run["utc"] = to_json(*times);
  const finish::Evidence evidence = evidence_of(result);
  const Finished picture = finish_picture(linear_view(result), evidence, plan);
  run.update(picture.figures);
  const std::vector<output::Card> cards = stack_cards(options, opened, times, survey, result);
  Results results;
  results.add(
      options.output,
      [&](const auto& path) {
        clipped = write_finished(path, picture, cards, look, linear_apart ? nullptr : &evidence);
      },
      Results::Format::of_name);
  if (linear_apart) {
    results.add(linear, [&](const auto& path) {
      write_linear(path, linear_view(result), cards, evidence);
    });
    written.push_back(linear);
  }
  if (!look.share.empty()) {
    results.add(
        look.share, [&](const auto& path) { write_shared(path, picture); },
        Results::Format::of_name);
    written.push_back(look.share);
  }
  results.add(recipe, [&](const auto& path) {
    output::save_recipe(
        path, {{"version", LULL_VERSION}, {"options", recipe_options(options)}, {"figures", run}});
  });
  written.push_back(recipe);
  if (!page.empty()) {
    written.push_back(page);
    progress.step("report", 0, 1);
    const std::string text =
        stack_report({options, recipe_options(options), recipe_options(StackCommandOptions{}),
                      frames->info(), health, result, run, times, linear_view(result),
                      picture.picture.view(), linear_apart, picture.linear, written});
    results.add(page, [&](const auto& path) { output::write_file(path, text); });
  }
  progress.step("writing", 1, 1);
  results.commit();
  const std::string caution =
      sun_caution(parse_object(options.object), options.input.capture, health.place.kind);
  if (options.input.json) {
    run["caution"] = caution.empty() ? nlohmann::json() : nlohmann::json(caution);
    run["capture"] = options.input.capture;
    run["notes"] = frames->info().notes;
    run["written"] = written;
    fmt::print("{}\n", run.dump(1));
  } else {
    print_summary(options, frames->info(), survey, result, run, written, clipped, caution);
  }
}

}  // namespace lull::app
