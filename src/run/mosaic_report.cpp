#include "run/mosaic_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/words.h"
#include "files/name_text.h"
#include "report/page.h"
#include "run/mosaic_map.h"
#include "run/mosaic_moved.h"
#include "run/repeat_command.h"
#include "run/report_charts.h"
#include "run/report_parts.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

using report::Fact;

std::string size_text(Size size) {
  return fmt::format("{} x {} px", size.width_px, size.height_px);
}

std::vector<Fact> mosaic_facts(const MosaicOutcome& outcome) {
  const mosaic::Layout& layout = outcome.layout;
  std::vector<Fact> out = resolution_facts(outcome.frc, std::nullopt);
  std::size_t places = 0;
  for (const mosaic::Link& link : layout.links) places += link.ties.size();
  out.push_back({"Panels", fmt::format("{}", layout.group.size()),
                 outcome.left_out.empty() ? "all that were given"
                                          : fmt::format("{} left out", outcome.left_out.size())});
  out.push_back({"Fit", fmt::format("{:.2f} px", layout.bent_rms_px),
                 "rms at the overlaps, with what the air has bent",
                 fmt::format("{:.2f} px by shift, turn and scale alone; {} pairs of panels, "
                             "compared at {} places",
                             layout.rigid_rms_px, layout.links.size(), places)});
  out.push_back({"Shown", fmt::format("{:.0f}%", 100 * outcome.covered),
                 fmt::format("of {}", size_text(layout.mosaic))});
  if (outcome.limb) {
    out.push_back({"Limb", fmt::format("{:.1f} px", outcome.limb->fit.curve.circle.radius_px),
                   "radius of the circle onto which it was laid", limb_fit_text(*outcome.limb)});
  }
  const double distortion = layout.maps[layout.group.front()].distortion;
  out.push_back({"Distortion of the optics", fmt::format("{:.3f}%", 100 * distortion),
                 "by which the radius grows at the corner of a panel; taken out"});
  return out;
}

// "2, 5, 6": numbers of those that it overlaps, thin overlaps in brackets.
std::string neighbours(const MosaicOutcome& outcome, mosaic::PanelIndex panel) {
  std::vector<std::pair<int, bool>> found;
  for (const mosaic::Link& link : outcome.layout.links) {
    if (link.first != panel && link.second != panel) continue;
    const mosaic::PanelIndex other = link.first == panel ? link.second : link.first;
    found.emplace_back(outcome.numbers[other], link.ties.size() < mosaic::kFewTies);
  }
  std::sort(found.begin(), found.end());
  std::vector<std::string> words;
  for (const auto& [number, thin] : found)
    words.push_back(thin ? fmt::format("({})", number) : fmt::format("{}", number));
  return fmt::format("{}", fmt::join(words, ", "));
}

// The largest change of detail that brings a panel to the blur of all.
std::string blur_text(const std::vector<spectrum::FilterPoint>& gains) {
  double most = 1;
  for (const spectrum::FilterPoint& point : gains) {
    if (std::abs(std::log(point.gain)) > std::abs(std::log(most))) most = point.gain;
  }
  if (most == 1) return "as all";
  return fmt::format("{} ({:.2f} ×)", most > 1 ? "softer" : "sharper", most);
}

std::string light_text(const mosaic::Layout& layout, mosaic::PanelIndex panel) {
  std::vector<std::string> gains;
  for (const auto& channel : layout.brightness)
    gains.push_back(fmt::format("{:.3f}", channel[panel].gain));
  return fmt::format("{}", fmt::join(gains, ", "));
}

report::Table panel_table(const MosaicOutcome& outcome, const std::vector<PanelInput>& panels) {
  const mosaic::Layout& layout = outcome.layout;
  report::Table table{
      "The panels",
      "Numbers are those of the command line. Turn and scale are against the mosaic; bent is what "
      "the air has moved, rms; detail, by which factor it was changed most to bring all panels to "
      "one blur; resolution, the finest period on which its own half stacks agree, in px of the "
      "mosaic: a panel that resolves less than its neighbours is worth another night; light, the "
      "factor that brings all to one light. In brackets: overlaps of few places.",
      {"number", "panel", "turn", "scale", "bent", "sharpness", "resolution", "light", "overlaps"},
      {}};
  for (const mosaic::PanelIndex panel : layout.group) {
    const mosaic::PanelMap& map = layout.maps[panel];
    table.rows.push_back(
        {fmt::format("{}", outcome.numbers[panel]), files::file_name_text(panels[panel].path),
         fmt::format("{:.2f}°", map.turn_deg()), fmt::format("{:.4f}", map.scale()),
         fmt::format("{:.2f} px", map.bend.rms_px()), blur_text(layout.gains[panel]),
         outcome.resolution_px[panel] ? fmt::format("{:.1f} px", *outcome.resolution_px[panel])
                                      : "not known",
         light_text(layout, panel), neighbours(outcome, panel)});
  }
  return table;
}

report::Table moved_table(const MosaicOutcome& outcome, const std::vector<PanelInput>& panels) {
  report::Table table{
      "Shadows that moved",
      "Between the times of these panels the light changed: in that part of what both show, one of "
      "them is shown alone, so that no shadow stands there twice. The map shows where.",
      {"panels", "apart", "part"},
      {}};
  for (const mosaic::MovedOverlap& overlap : outcome.moved.overlaps) {
    const auto minutes = minutes_apart(panels[overlap.first], panels[overlap.second]);
    table.rows.push_back(
        {fmt::format("{} and {}", outcome.numbers[overlap.first], outcome.numbers[overlap.second]),
         minutes ? span_text(*minutes) : "not known", fmt::format("{:.1f}%", 100 * overlap.share)});
  }
  return table;
}

std::vector<report::Table> tables_of(const MosaicOutcome& outcome,
                                     const std::vector<PanelInput>& panels) {
  std::vector<report::Table> out = {panel_table(outcome, panels)};
  if (!outcome.moved.empty()) out.push_back(moved_table(outcome, panels));
  if (outcome.left_out.empty()) return out;
  report::Table left{"Left out", "These panels are not in the mosaic.", {"panel", "why"}, {}};
  for (const std::string& line : outcome.left_out) {
    const std::size_t colon = line.rfind(": ");
    left.rows.push_back({files::utf8_text(line.substr(0, colon)),
                         files::utf8_text(line.substr(std::min(colon + 2, line.size())))});
  }
  out.push_back(std::move(left));
  return out;
}

report::Drawing map_of(const MosaicOutcome& outcome) {
  const std::string holes =
      outcome.holes.empty() ? std::string("No holes.")
                            : counted(std::ssize(outcome.holes), "hole") + " that no panel shows.";
  return {
      "The map",
      "Where the panels lie, numbered as they were given, what each resolves, and which overlap. "
      "Dashed lines rest on few places. " +
          holes,
      fmt::format("{} panels; {} pairs overlap. {} The table of the panels says the same.",
                  outcome.layout.group.size(), outcome.layout.links.size(), holes),
      mosaic_map(outcome)};
}

}  // namespace

std::string mosaic_report(const MosaicOutcome& outcome, const std::vector<PanelInput>& panels,
                          const MosaicPictures& pictures) {
  const MosaicRequest& request = outcome.request;
  const std::string page = request.report_path();
  report::Contents contents;
  contents.title = files::file_name_text(request.output);
  contents.summary = fmt::format("Mosaic of {} panels, {}.", outcome.layout.group.size(),
                                 size_text(outcome.layout.mosaic));
  contents.caution = outcome.caution;
  contents.pictures = {
      {"Joined", "The joined panels, before they were finished", pictures.stack.view()},
      finished_to_show(pictures.finished.picture.view(), pictures.finished.transfer,
                       pictures.finished.levels)};
  if (!pictures.shared.channels.empty())
    contents.shared = shared_to_show(pictures.shared.view(), request.look.share, page);
  contents.arcsec_per_px = arcsec_per_px(pictures.cards).value_or(0);
  contents.figures = mosaic_facts(outcome);
  contents.drawings = {map_of(outcome)};
  contents.tables = tables_of(outcome, panels);
  contents.charts_title = "What was done";
  if (auto gain = gain_chart(pictures.finished.figures, outcome.frc))
    contents.charts.push_back(std::move(*gain));
  contents.command = repeat_command("mosaic", mosaic_options(), request);
  add_options(
      mosaic_options(), request, [](const std::string&) { return std::string(); }, contents);
  contents.inputs = input_facts(request.panels);
  contents.results = result_facts(outcome.written, request.look.share, page);
  contents.versions = version_facts();
  for (const std::string& note : outcome.notes) contents.notes.push_back(files::utf8_text(note));
  return report::page(contents);
}

}  // namespace lull::run
