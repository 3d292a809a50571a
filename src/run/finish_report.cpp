#include "run/finish_report.h"

#include <fmt/format.h>

#include <algorithm>

#include "files/name_text.h"
#include "report/page.h"
#include "run/repeat_command.h"
#include "run/report_charts.h"
#include "run/report_parts.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

using report::Fact;

std::string summary(const FinishOutcome& outcome, const FinishInput& input) {
  const bool leaves = outcome.request.look.leaves_detail();
  const std::string what =
      input.cards.empty()
          ? (leaves ? "Picture" : "Picture with restored detail")
          : describe_stack(input.cards, leaves ? StackDetail::as_stacked : StackDetail::restored);
  return fmt::format("{}, {} x {} px.", what, outcome.size.width_px, outcome.size.height_px);
}

std::vector<report::PictureToShow> pictures(const FinishInput& input, const Finished& finished) {
  report::PictureToShow before{"As it was", "The picture before it was finished",
                               input.picture.view()};
  if (input.stretched) before.transfer = files::Transfer::screen;
  return {std::move(before),
          finished_to_show(finished.picture.view(), finished.transfer, finished.levels)};
}

std::vector<Fact> gain_facts(const Finished& finished) {
  if (!finished.figures.contains("detail_gains")) return {};
  double most = 0;
  double at = 0;
  for (const auto& point : finished.figures.at("detail_gains")) {
    const auto gain = point.at("gain").get<double>();
    if (gain <= most) continue;
    most = gain;
    at = point.at("cycles_per_px").get<double>();
  }
  if (!(at > 0)) return {};
  return {{"Strongest gain", fmt::format("{:.1f} ×", most),
           fmt::format("of detail with a period of {:.1f} px", 1 / at)}};
}

// What the stack says of itself, or what was measured on the picture.
std::vector<Fact> figures(const FinishInput& input, const Finished& finished) {
  std::vector<Fact> out;
  if (input.has_halves) {
    const auto resolution = resolution_of(input.measured.frc, std::nullopt);
    const auto* arcsec = find_card<double>(input.cards, "RESOLAS");
    if (resolution && arcsec != nullptr) {
      out.push_back(
          {"Resolution", fmt::format("{:.2f}″", *arcsec),
           fmt::format("details of {:.2f} arcsec and more are real", *arcsec),
           fmt::format("{:.2f} px; finest period on which the half stacks agree, FRC over "
                       "1/7",
                       resolution->period_px)});
    } else {
      out = resolution_facts(input.measured.frc, std::nullopt);
    }
  }
  const auto* kept = find_card<std::int64_t>(input.cards, "NKEPT");
  const auto* frames = find_card<std::int64_t>(input.cards, "NFRAMES");
  if (kept != nullptr && frames != nullptr) {
    out.push_back(
        {"Frames kept", fmt::format("{}", *kept), fmt::format("of {} in the capture", *frames)});
  }
  const auto* noise = find_card<double>(input.cards, "NOISE");
  const auto& white = input.measured.white_noise;
  if (noise != nullptr) {
    out.push_back({"Noise", fmt::format("{:.2g}%", 100 * *noise),
                   "of full scale, a pixel of the linear stack"});
  } else if (!white.empty()) {
    out.push_back({"Noise",
                   fmt::format("{:.2g}%", 100 * *std::max_element(white.begin(), white.end())),
                   "of full scale, a pixel; estimated from the picture itself"});
  }
  for (Fact& fact : gain_facts(finished)) out.push_back(std::move(fact));
  return out;
}

}  // namespace

std::string finish_report(const FinishOutcome& outcome, const FinishInput& input,
                          const Finished& finished, const files::Picture& shared) {
  const FinishRequest& request = outcome.request;
  const std::string page = request.report_path();
  report::Contents contents;
  contents.title = files::file_name_text(request.input);
  contents.summary = summary(outcome, input);
  contents.pictures = pictures(input, finished);
  if (!shared.channels.empty())
    contents.shared = shared_to_show(shared.view(), request.look.share, page);
  contents.arcsec_per_px = arcsec_per_px(input.cards).value_or(0);
  contents.figures = figures(input, finished);
  contents.charts_title = "What was done";
  if (auto gain = gain_chart(finished.figures, input.measured.frc))
    contents.charts.push_back(std::move(*gain));
  contents.command = repeat_command("finish", finish_options(), request);
  add_options(
      finish_options(), request, [](const std::string&) { return std::string(); }, contents);
  contents.inputs = input_facts({request.input});
  contents.results = result_facts(outcome.written, request.look.share, page);
  contents.versions = version_facts();
  for (const auto* notes : {&outcome.warnings, &outcome.notes})
    for (const std::string& note : *notes) contents.notes.push_back(files::utf8_text(note));
  return report::page(contents);
}

}  // namespace lull::run
