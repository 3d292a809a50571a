#include "run/stack_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/error.h"
#include "core/words.h"
#include "files/name_text.h"
#include "health/findings.h"
#include "report/page.h"
#include "run/repeat_command.h"
#include "run/report_charts.h"
#include "run/report_parts.h"

namespace lull::run {

namespace {

using report::Fact;

std::string percent(double share) { return fmt::format("{:.0f}%", 100 * share); }

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
    out.push_back(
        finished_to_show(run.picture.picture.view(), run.picture.transfer, run.picture.levels));
  }
  return out;
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
  std::vector<Fact> out = resolution_facts(run.result.frc, optics);
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
  for (const CaptureShare& one : run.shares) {
    out.push_back({"Of " + files::file_name_text(one.capture),
                   counted(static_cast<std::int64_t>(one.kept), "frame"), share_text(one)});
  }
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

// What the program made of a choice that it was left; empty = nothing to say.
std::string followed(const StackOutcome& run, const std::string& name) {
  const StackRequest& request = run.request;
  if (name == "--keep") return fmt::format("{} frames", run.result.kept.size());
  if (name == "--metric" && !request.input.metric) return run.health.survey.ranked_by();
  if (name == "--patch" && request.stacking.patch_px == 0)
    return fmt::format("{:.0f} px", run.result.patch_px);
  return {};
}

}  // namespace

std::string stack_report(const StackOutcome& run, const files::Picture& shared) {
  const StackRequest& request = run.request;
  const std::string page = request.report_path();
  const auto optics = request.instrument.optics();
  const auto optics_of_picture = run.optics_of_picture();
  report::Contents contents;
  contents.title = files::file_name_text(request.input.capture());
  contents.summary = summary(run);
  contents.caution = run.caution;
  contents.pictures = pictures(run);
  if (!shared.channels.empty())
    contents.shared = shared_to_show(shared.view(), request.look.share, page);
  if (optics_of_picture) contents.arcsec_per_px = optics_of_picture->scale_arcsec_per_px();
  contents.figures = figures(run, optics_of_picture);
  contents.findings = health::findings_of(run.info, run.health, optics);
  contents.judged_from = judged_from(run);
  contents.charts = report_charts(run, optics_of_picture);
  contents.command = repeat_command("stack", stack_options(), request);
  add_options(
      stack_options(), request, [&run](const std::string& name) { return followed(run, name); },
      contents);
  contents.inputs = input_facts(request.input.files());
  contents.results = result_facts(run.written, request.look.share, page);
  contents.versions = version_facts();
  for (const std::string& note : run.notes) contents.notes.push_back(files::utf8_text(note));
  return report::page(contents);
}

}  // namespace lull::run
