#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/choices.h"
#include "app/commands.h"
#include "app/reading.h"
#include "app/results.h"
#include "app/times.h"
#include "app/verdict.h"
#include "app/white_balance_choice.h"
#include "core/error.h"
#include "finish/detail.h"
#include "output/atomic_file.h"
#include "output/fits.h"
#include "output/picture_file.h"
#include "output/recipe.h"
#include "stack/colour_frame.h"
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

void check_keep(const quality::Keep& keep, const stack::Survey& survey, const std::string& text) {
  const auto* count = std::get_if<quality::KeepCount>(&keep);
  const auto frames = static_cast<std::int64_t>(survey.records.size());
  if (count == nullptr || count->frames <= frames) return;
  throw UsageError(
      fmt::format("--keep {}: the capture has only {} frames; give fewer, or a share such as 15%",
                  text, frames));
}

void check_colours(const StackCommandOptions& options, const capture::CaptureInfo& info) {
  if (options.white_balance == "none" || stack::has_colour(info)) return;
  throw UsageError(fmt::format(
      "--white-balance {}: {} has no colours; leave the option out, or name the mosaic with --cfa",
      options.white_balance, info.path));
}

fs::path beside(const fs::path& output, const char* ending) {
  fs::path path = output;
  return path.replace_extension(ending);
}

// Options that decide the bytes of the result; threads and memory do not.
nlohmann::json recipe_options(const StackCommandOptions& options) {
  return {{"capture", options.input.capture},
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
          {"white_balance", options.white_balance}};
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
    options.white_balance = text("white_balance");
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

output::Metadata metadata(const StackCommandOptions& options, const Opened& opened,
                          const std::optional<ExposureTimes>& times, const stack::Survey& survey,
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
  if (opened.pattern_removed) {
    out.cards.push_back(
        {"PATCOL", opened.pattern.columns_rms_adu(), "[adu] pattern of the columns, rms"});
    out.cards.push_back(
        {"PATROW", opened.pattern.rows_rms_adu(), "[adu] pattern of the rows, rms"});
    out.cards.push_back({"PATOFF", opened.pattern.words(), "pattern noise taken off"});
  }
  if (times) {
    const auto cards = time_cards(*times);
    out.cards.insert(out.cards.end(), cards.begin(), cards.end());
  }
  return out;
}

// 16-bit integers: the smallest power of two that holds the brightest pixel is white, so that
// values stay exact multiples and a dim capture keeps its levels.
output::Encoding encoding_for(const output::PictureView& picture) {
  float highest = 0;
  for (const PlaneView& plane : picture.channels) {
    for (int y = 0; y < plane.height_px; ++y)
      highest = std::max(highest, *std::max_element(plane.row(y), plane.row(y) + plane.width_px));
  }
  double white = 1;
  while (white < static_cast<double>(highest)) white *= 2;
  while (white > 1.0 / 256 && white / 2 >= static_cast<double>(highest)) white /= 2;
  return {0, white};
}

output::PictureView view_of(const std::vector<Plane>& planes) {
  output::PictureView view;
  for (const Plane& plane : planes) view.channels.push_back(plane.view());
  return view;
}

output::PictureView linear_view(const stack::StackResult& result) {
  output::PictureView view;
  for (const stack::ColourResult& colour : result.colours)
    view.channels.push_back(colour.picture.view());
  if (view.channels.empty()) view.channels.push_back(result.picture.view());
  return view;
}

std::vector<Plane> linear_planes(const stack::StackResult& result) {
  std::vector<Plane> planes;
  for (const PlaneView& plane : linear_view(result).channels)
    planes.push_back(Plane::copy_of(plane));
  return planes;
}

// Brings the colours of the picture into balance, as measured on the linear stack.
void balance_colours(const WhiteBalanceChoice& choice, const stack::StackResult& result,
                     std::vector<Plane>& picture, nlohmann::json& run) {
  if (result.colours.empty()) return;
  const output::PictureView linear = linear_view(result);
  const auto factors =
      factors_for(choice, {linear.channels[0], linear.channels[1], linear.channels[2]});
  finish::balance(picture, factors);
  run["white_balance"] = factors;
}

nlohmann::json gains_json(const std::vector<finish::FilterPoint>& gains) {
  nlohmann::json out = nlohmann::json::array();
  for (const finish::FilterPoint& point : gains)
    out.push_back({{"cycles_per_px", point.frequency}, {"gain", point.gain}});
  return out;
}

// The luminance, or each colour. All colours are raised alike, as far as the luminance's halves
// agree, so that none of them gets sharper edges than another; each by its own noise.
std::vector<Plane> restore(const stack::StackResult& result, nlohmann::json& run) {
  std::vector<Plane> out;
  const finish::Blur blur =
      finish::blur_of_stack(result.ratio, result.frc.resolution().value_or(0));
  run["blur_core"] = blur.core;
  const auto add = [&](const Plane& picture, const Plane(&halves)[2]) {
    finish::DetailResult detail = finish::restore_detail(
        picture.view(), {halves[0].view(), halves[1].view(), result.frc, blur});
    run["detail_gains"] = gains_json(detail.gains);
    out.push_back(std::move(detail.picture));
  };
  for (const stack::ColourResult& colour : result.colours) add(colour.picture, colour.halves);
  if (out.empty()) add(result.picture, result.halves);
  return out;
}

void print_summary(const StackCommandOptions& options, const capture::CaptureInfo& info,
                   const stack::Survey& survey, const stack::StackResult& result,
                   const nlohmann::json& run, const std::vector<std::string>& written,
                   const output::Clipped& clipped) {
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
  if (options.white_balance != "none") {
    const auto factors = run.at("white_balance").get<finish::WhiteBalance>();
    fmt::print(
        "white balance: red x {:.3f}, green x {:.3f}, blue x {:.3f}; not in the linear FITS\n",
        factors[0], factors[1], factors[2]);
  }
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
  stack_options.compare_frames = options.finish == "auto";
  stack_options.mend_dispersion = parse_dispersion(options.dispersion);
  static_cast<void>(reading_of(options.input));
  const bool finished = parse_finish(options.finish);
  const WhiteBalanceChoice white_balance = parse_white_balance(options.white_balance);
  const stack::SurveyOptions survey_options{parse_metric(options.input.metric)};
  static_cast<void>(output::format_of(options.output));
  const std::string linear = beside(options.output, ".linear.fits");
  const std::string recipe = beside(options.output, ".recipe.json");
  for (const std::string& result : {options.output, recipe}) check_output(result, options.input);
  if (finished) check_output(linear, options.input);

  const Opened opened = open_capture(options.input, progress);
  const auto& frames = opened.frames;
  check_colours(options, frames->info());
  const stack::Survey survey = stack::survey(*frames, survey_options, progress);
  require_usable(survey, options.input.capture, 2, "a stack");
  check_keep(stack_options.keep, survey, options.keep);
  const stack::StackResult result = stack::stack(*frames, survey, stack_options, progress);
  std::vector<std::string> written = {options.output};
  output::Clipped clipped;
  nlohmann::json run = figures(survey, result);
  run["pattern_noise"] = pattern_json(opened);
  const auto times = exposure_times(frames->info(), survey, result.kept);
  if (times) run["utc"] = to_json(*times);
  Results results;
  const auto add_picture = [&](const output::PictureView& picture) {
    results.add(
        options.output,
        [&](const auto& path) {
          clipped =
              output::write_picture(path, picture, encoding_for(picture),
                                    metadata(options, opened, times, survey, result, finished));
        },
        Results::Format::of_name);
  };
  std::vector<Plane> picture = finished ? restore(result, run) : linear_planes(result);
  balance_colours(white_balance, result, picture, run);
  add_picture(view_of(picture));
  if (finished) {
    results.add(linear, [&](const auto& path) {
      output::write_fits_float(path, linear_view(result),
                               metadata(options, opened, times, survey, result, false));
    });
    written.push_back(linear);
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
    print_summary(options, frames->info(), survey, result, run, written, clipped);
  }
}

}  // namespace lull::app
