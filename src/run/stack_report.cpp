#include "run/stack_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <filesystem>

#include "core/error.h"
#include "files/name_text.h"
#include "health/findings.h"
#include "report/fingerprint.h"
#include "report/link.h"
#include "report/page.h"
#include "run/recipe_options.h"
#include "run/repeat_command.h"
#include "run/report_charts.h"
#include "run/resolution.h"
#include "spectrum/fft.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;
using report::Fact;

std::string name_of(const std::string& path) {
  return files::name_text(fs::path(path).filename().string());
}

std::string percent(double share) { return fmt::format("{:.0f}%", 100 * share); }

// "0.71 arcsec", or pixels.
std::string plain_length(const Resolution& resolution) {
  if (resolution.period_arcsec) return fmt::format("{:.2f} arcsec", *resolution.period_arcsec);
  return fmt::format("{:.2f} px", resolution.period_px);
}

std::string summary(const StackOutcome& run) {
  const auto& survey = run.health.survey;
  std::string text = fmt::format("{} of the best {} of {} frames, {} x {} px",
                                 run.finished ? "Stack with restored detail" : "Linear stack",
                                 run.result.kept.size(), survey.records.size(),
                                 run.result.picture.width(), run.result.picture.height());
  if (run.times) {
    std::string moment = iso8601(run.times->begin, 0);
    std::replace(moment.begin(), moment.end(), 'T', ' ');
    text += fmt::format("; recorded {} UTC", moment);
  }
  text += ".";
  if (const auto resolution = resolution_of(run.result.frc, run.optics_of_picture()))
    text += fmt::format(" Details of {} and more are real.", plain_length(*resolution));
  return text;
}

std::vector<report::PictureToShow> pictures(const StackOutcome& run) {
  std::vector<report::PictureToShow> out;
  const auto resolution = run.result.frc.resolution();
  const std::string finest =
      resolution ? fmt::format("finest period {:.2f} px", 1 / *resolution) : "no shared detail";
  if (run.result.illustration && !run.result.illustration->best_frame.empty()) {
    report::PictureToShow best{"Best frame", "The sharpest single frame, with all its noise", {}};
    for (const Plane& plane : run.result.illustration->best_frame)
      best.picture.channels.push_back(plane.view());
    out.push_back(std::move(best));
  }
  out.push_back({"Linear stack",
                 fmt::format("The mean of the kept frames: little noise, soft; {}", finest),
                 run.linear()});
  if (run.finished) {
    out.push_back({"Finished", fmt::format("The finished picture, its detail restored; {}", finest),
                   run.picture.picture.view(),
                   run.picture.transfer == files::Transfer::linear ? files::Transfer::linear
                                                                   : files::Transfer::screen,
                   finish::Levels{run.picture.black, run.picture.white}});
  }
  return out;
}

// In arcseconds where they are known.
Fact period_fact(const char* name, const Resolution& resolution, const std::string& meaning,
                 const std::string& threshold) {
  if (!resolution.period_arcsec || !resolution.cutoff_share)
    return {name, fmt::format("{:.2f} px", resolution.period_px), meaning, threshold};
  return {name, fmt::format("{:.2f}″", *resolution.period_arcsec), meaning,
          fmt::format("{:.2f} px, {} of the cutoff D/lambda; {}", resolution.period_px,
                      percent(*resolution.cutoff_share), threshold)};
}

Fact resolution_fact(const StackOutcome& run, const std::optional<health::Optics>& optics) {
  const auto resolution = resolution_of(run.result.frc, optics);
  if (!resolution) {
    return {"Resolution", "none",
            "the half stacks share no detail; keep more frames, or record on a steadier night"};
  }
  const std::string meaning =
      fmt::format("details of {} and more are real", plain_length(*resolution));
  std::string threshold = "finest period whose half stacks correlate, FRC over 1/7";
  if (!optics) threshold += fmt::format("; {}", kOpticsHint);
  return period_fact("Resolution", *resolution, meaning, threshold);
}

Fact enlargement_fact(const stack::EnlargedResult& enlarged) {
  const stack::Enlargement& how = enlarged.enlargement;
  std::string note = fmt::format(
      "by drops of {} px; movements are in pixels of the frames; the noise of areas is {:.2f} "
      "times that expected from single pixels",
      how.pixfrac, how.noise_correlation());
  if (enlarged.filled > 0) {
    note += fmt::format("; on {:.2g}% of the samples no drop fell; they are interpolated",
                        100 * enlarged.filled);
  }
  return {"Enlarged", fmt::format("{} ×", how.scale), note};
}

std::vector<Fact> figures(const StackOutcome& run, const std::optional<health::Optics>& optics) {
  const auto& survey = run.health.survey;
  const auto kept = static_cast<double>(run.result.kept.size());
  std::vector<Fact> out = {resolution_fact(run, optics)};
  if (const auto half = half_bit_resolution_of(run.result.frc, optics))
    out.push_back(period_fact("Resolution, strict", *half,
                              fmt::format("details of {} are beyond doubt", plain_length(*half)),
                              "by the stricter threshold, half a bit"));
  if (run.air) {
    out.push_back({"Air, D/r0", fmt::format("{:.1f}", run.air->turbulence.d_over_r0),
                   fmt::format("{}; from {} frames, good and bad", run.air->text(),
                               run.air->turbulence.frames)});
  } else if (optics) {
    out.push_back({"Air, D/r0", "not known", kNoAir});
  }
  out.push_back({"Frames kept", fmt::format("{:.0f}", kept),
                 fmt::format("{} of {} usable, {} in the capture",
                             percent(kept / static_cast<double>(survey.usable())), survey.usable(),
                             survey.records.size())});
  out.push_back({"Noise", fmt::format("{:.2g}%", 100 * run.result.noise),
                 "of full scale, a pixel of the linear stack"});
  out.push_back({"Movement of regions", fmt::format("{:.2f} px", run.result.local_shift_rms_px),
                 "rms, independent, about the mean"});
  if (run.health.trend) {
    out.push_back({"Best frame", fmt::format("{:.2f} ×", run.health.trend->best_over_median),
                   "its sharpness, median frame = 1"});
  }
  if (run.result.colours.size() == 3) {
    const Displacement apart = run.result.colours[2].dispersion - run.result.colours[0].dispersion;
    out.push_back({"Dispersion", fmt::format("{:.2f} px", std::hypot(apart.x_px, apart.y_px)),
                   "blue against red, by the air; corrected unless --dispersion off"});
  }
  if (run.result.enlarged) out.push_back(enlargement_fact(*run.result.enlarged));
  if (optics) {
    out.push_back({"Sampling", fmt::format("{:.2f} px", optics->px_per_lambda_over_d()),
                   fmt::format("in lambda/D; {:.3f}″ a pixel", optics->scale_arcsec_per_px())});
  }
  return out;
}

std::string judged_from(const StackOutcome& run) {
  const auto usable = run.health.survey.usable();
  std::string text;
  if (run.health.frames_looked_at < usable) {
    text = fmt::format(
        "Exposure, noise and jitter were measured on {} of the {} usable frames; lull inspect uses "
        "all of them. ",
        run.health.frames_looked_at, usable);
  }
  if (run.health.samples == health::Samples::calibrated) text += "Measured after calibration.";
  return text;
}

Fact input_fact(const std::string& path) {
  const std::string name = files::name_text(path);
  std::error_code ignored;
  if (!fs::is_regular_file(path, ignored))
    return {name, "–", "numbered pictures or a folder: no checksum"};
  const auto print = report::fingerprint_of(path);
  if (print.coverage == report::Coverage::whole)
    return {name, print.sha256, fmt::format("all {} bytes", print.bytes)};
  const std::string word = shell_word(path);
  return {name, print.sha256,
          fmt::format("first and last MiB of {} bytes; to check: {{ head -c {} {}; tail -c {} {}; "
                      "}} | sha256sum",
                      print.bytes, report::kEndBytes, word, report::kEndBytes, word)};
}

std::vector<Fact> inputs(const CaptureInput& input) {
  std::vector<Fact> out;
  for (const std::string& path : input.files()) {
    if (!path.empty()) out.push_back(input_fact(path));
  }
  return out;
}

std::vector<Fact> results(const StackOutcome& run) {
  std::vector<Fact> out;
  for (const std::string& path : run.written) {
    std::string what = "the picture";
    if (path.ends_with(".linear.fits")) what = "linear stack, 32-bit float";
    if (path.ends_with(".recipe.json")) what = "recipe: options and figures, repeats the run";
    if (path == run.request.look.share) what = "copy to share: 8-bit, as screens show it";
    if (path == run.request.report_path()) what = "this page";
    out.push_back({files::name_text(path), what, "", "",
                   report::relative_link(path, run.request.report_path())});
  }
  return out;
}

// What the program made of a choice that it was left; empty = nothing to say.
std::string followed(const StackOutcome& run, const std::string& key) {
  if (key == "keep") return fmt::format("{} frames", run.result.kept.size());
  if (key == "metric") return std::string(quality::metric_name(run.health.survey.metric));
  if (key == "patch") return fmt::format("{:.0f} px", run.result.patch_px);
  return {};
}

void add_options(const StackOutcome& run, const nlohmann::json& choices,
                 const nlohmann::json& defaults, report::Contents& contents) {
  for (const auto& [key, value] : choices.items()) {
    if (key == "capture") continue;
    const std::string text = option_text(value);
    const bool is_default = defaults.at(key) == value;
    const bool not_given = is_default && (text.empty() || text == "0");
    (is_default ? contents.defaults : contents.chosen)
        .push_back({option_name(key), not_given ? "not given" : text,
                    text == "auto" || key == "keep" ? followed(run, key) : ""});
  }
}

}  // namespace

std::string stack_report(const StackOutcome& run) {
  const auto optics = run.request.instrument.optics();
  const auto optics_of_picture = run.optics_of_picture();
  const nlohmann::json choices = recipe_of(stack_options(), run.request);
  const nlohmann::json defaults = recipe_of(stack_options(), StackRequest{});
  report::Contents contents;
  contents.title = name_of(run.request.input.capture());
  contents.summary = summary(run);
  contents.caution = run.caution;
  contents.pictures = pictures(run);
  if (optics_of_picture) contents.arcsec_per_px = optics_of_picture->scale_arcsec_per_px();
  contents.figures = figures(run, optics_of_picture);
  contents.findings = health::findings_of(run.info, run.health, optics);
  contents.judged_from = judged_from(run);
  contents.charts = report_charts(run, optics_of_picture);
  std::vector<std::string> more = {"-o", run.request.output};
  const Option<StackRequest>& report = option_named(stack_options(), "--report");
  if (is_given(report, run.request))
    more.insert(more.end(), {"--report", option_text(report.get(run.request))});
  contents.command = repeat_command(choices, defaults, more);
  add_options(run, choices, defaults, contents);
  contents.inputs = inputs(run.request.input);
  contents.results = results(run);
  contents.versions = {{"Lull", LULL_VERSION},
                       {"Decoding", capture::decoder_version()},
                       {"Fourier transforms", spectrum::fft_version()}};
  for (const std::string& note : run.notes) contents.notes.push_back(files::utf8_text(note));
  return report::page(contents);
}

}  // namespace lull::run
