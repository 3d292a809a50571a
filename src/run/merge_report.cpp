#include "run/merge_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <numbers>
#include <utility>

#include "files/name_text.h"
#include "report/page.h"
#include "run/repeat_command.h"
#include "run/report_charts.h"
#include "run/report_parts.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

using report::Fact;

// "blur: its detail is raised up to 1.31 times"
std::string blur_text(const merge::Part& part) {
  if (part.gains.empty()) return "blur unchanged";
  const auto by_gain = [](const spectrum::FilterPoint& a, const spectrum::FilterPoint& b) {
    return a.gain < b.gain;
  };
  const auto [least, most] = std::minmax_element(part.gains.begin(), part.gains.end(), by_gain);
  return fmt::format("detail times {:.2f} to {:.2f}, to match the blur", least->gain, most->gain);
}

std::vector<Fact> merge_figures(const MergeOutcome& outcome, const FinishInput& input) {
  std::vector<Fact> out = resolution_facts(outcome.frc, std::nullopt);
  const std::vector<std::string> stacks = outcome.request.stacks();
  for (std::size_t i = 0; i < outcome.parts.size(); ++i) {
    std::string name = part_name(i);
    name.front() = static_cast<char>(name.front() - 'a' + 'A');
    const merge::Part& part = outcome.parts[i];
    out.push_back(is_grid(outcome, i)
                      ? Fact{name, "as it is", "the others were brought onto it",
                             files::file_name_text(stacks[i])}
                      : Fact{name, fmt::format("{:.2f} px", part.bent_rms_px),
                             "bent against the grid, rms",
                             fmt::format("{}: {}; {}", files::file_name_text(stacks[i]),
                                         placed_text(part), blur_text(part))});
  }
  if (const auto* noise = find_card<double>(input.cards, "NOISE"))
    out.push_back({"Noise", fmt::format("{:.2g}%", 100 * *noise),
                   "of full scale, a pixel of the mean of the colours"});
  return out;
}

}  // namespace

bool is_grid(const MergeOutcome& outcome, std::size_t part) {
  return part == merge::grid_of(outcome.parts.size());
}

std::string placed_text(const merge::Part& part) {
  return fmt::format(
      "shift {:.2f}, {:.2f} px, turn {:.3f} deg, scale {:.4f}, bent by {:.2f} px rms",
      part.shift.x_px, part.shift.y_px, part.whole.turn * 180 / std::numbers::pi, part.whole.scale,
      part.bent_rms_px);
}

std::string merge_report(const MergeOutcome& outcome, const FinishInput& input,
                         const Finished& finished, const files::Picture& shared) {
  const MergeRequest& request = outcome.request;
  const std::string page = request.report_path();
  report::Contents contents;
  contents.title = files::file_name_text(request.output);
  contents.summary =
      fmt::format("{}, {} x {} px, in colour from {} stacks.",
                  describe_stack(input.cards, StackDetail::as_stacked), outcome.size.width_px,
                  outcome.size.height_px, outcome.parts.size());
  contents.caution = outcome.caution;
  contents.pictures = {
      {"Joined", "The joined linear stack, before it was finished", input.picture.view()},
      finished_to_show(finished.picture.view(), finished.transfer, finished.levels)};
  if (!shared.channels.empty())
    contents.shared = shared_to_show(shared.view(), request.look.share, page);
  contents.arcsec_per_px = arcsec_per_px(input.cards).value_or(0);
  contents.figures = merge_figures(outcome, input);
  contents.charts_title = "What was done";
  if (auto gain = gain_chart(finished.figures, outcome.frc))
    contents.charts.push_back(std::move(*gain));
  contents.command = repeat_command("merge", merge_options(), request);
  add_options(
      merge_options(), request, [](const std::string&) { return std::string(); }, contents);
  contents.inputs = input_facts(request.stacks());
  contents.results = result_facts(outcome.written, request.look.share, page);
  contents.versions = version_facts();
  for (const std::string& note : outcome.notes) contents.notes.push_back(files::utf8_text(note));
  return report::page(contents);
}

}  // namespace lull::run
