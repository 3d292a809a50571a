#include "run/report_charts.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/statistics.h"

namespace lull::run {

namespace {

using draw::Plot;
using draw::PlotColour;
using draw::PlotMark;
using draw::PlotScale;
using draw::PlotSeries;
using draw::PlotSide;
using quality::FrameRecord;
using report::Chart;

constexpr double kNone = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t kMostPoints = 4000;  // more cannot be distinguished, and the page stays small
constexpr int kSharpnessBins = 40;
constexpr int kMostSquares = 60;  // of a map, along the longer side

Chart frc_chart(const StackOutcome& run, const std::optional<health::Optics>& optics) {
  Plot plot{"Detail that both halves share",
            {"Spatial frequency, cycles/px"},
            {"Correlation (1 = the same)"},
            {}};
  PlotSeries correlation{"Half stacks", {}, PlotMark::line, PlotColour::blue};
  PlotSeries seventh{
      "1/7, or more where noise reaches it by chance", {}, PlotMark::dashed, PlotColour::orange};
  PlotSeries half_bit{"Half a bit", {}, PlotMark::dotted, PlotColour::gray};
  for (const auto& ring : run.result.frc.rings) {
    correlation.points.push_back({ring.frequency, ring.correlation});
    const auto shown = [](double threshold) { return threshold <= 1 ? threshold : kNone; };
    seventh.points.push_back({ring.frequency, shown(spectrum::resolution_threshold(ring.samples))});
    half_bit.points.push_back({ring.frequency, shown(spectrum::half_bit_threshold(ring.samples))});
  }
  plot.series = {std::move(correlation), std::move(seventh), std::move(half_bit)};
  std::string words = "The curve never exceeds the thresholds: no detail is shared.";
  if (const auto resolution = run.result.frc.resolution()) {
    plot.vertical_lines.push_back({*resolution, fmt::format("{:.2f} px", 1 / *resolution)});
    words = fmt::format(
        "The halves correlate over 1/7 up to {:.3f} cycles a pixel, a period of {:.2f} px",
        *resolution, 1 / *resolution);
    const auto half = run.result.frc.half_bit_resolution();
    words += half ? fmt::format("; over half a bit up to {:.3f}.", *half) : ".";
  }
  if (optics && optics->cutoff_cycles_per_px() < 0.5)
    plot.vertical_lines.push_back({optics->cutoff_cycles_per_px(), "cutoff of the optics"});
  return {"frc",
          "Fourier ring correlation of two stacks from disjoint halves of the kept frames. Where "
          "the curve meets a threshold, detail ends and noise begins.",
          words, std::move(plot)};
}

// Why this share was kept, from the stacks that were compared.
std::string kept_words(const StackOutcome& run) {
  const auto& steps = run.result.steps;
  const auto usable = static_cast<double>(run.health.survey.usable());
  const auto kept = static_cast<std::int64_t>(run.result.kept.size());
  const auto share = [usable](std::int64_t frames) {
    return fmt::format("{:.0f}%", 100 * static_cast<double>(frames) / usable);
  };
  const auto at = std::find_if(steps.begin(), steps.end(),
                               [kept](const auto& step) { return step.frames == kept; });
  if (at == steps.end() || !at->expected)
    return fmt::format("{} of the usable frames were kept, as --keep asks.", share(kept));
  const auto percent = [](double error) { return fmt::format("{:.1f}%", 100 * error); };
  std::string text = fmt::format(
      "{} of the usable frames were kept: of {} stacks that were compared, this one promises the "
      "finished picture with the least error, {} of its detail ({} from noise, {} from blur)",
      share(kept), steps.size(), percent(at->expected->total()), percent(at->expected->noise),
      percent(at->expected->blur));
  const auto add = [&](const char* side, const stack::KeepStep& step) {
    text += fmt::format("; the next {} stack, of {}, promises {} ({} and {})", side,
                        share(step.frames), percent(step.expected->total()),
                        percent(step.expected->noise), percent(step.expected->blur));
  };
  if (at != steps.begin()) add("smaller", *std::prev(at));
  if (std::next(at) != steps.end()) add("larger", *std::next(at));
  text += ".";
  if (steps.back().frames < run.health.survey.usable())
    text += fmt::format(" No share over {} was tried.", share(steps.back().frames));
  return text;
}

std::optional<Chart> keep_chart(const StackOutcome& run) {
  const auto& steps = run.result.steps;
  if (steps.size() < 2 || !steps.front().expected) return std::nullopt;
  const auto usable = static_cast<double>(run.health.survey.usable());
  PlotSeries error{"Expected error", {}, PlotMark::points, PlotColour::blue};
  PlotSeries noise{"of which noise", {}, PlotMark::line, PlotColour::gray};
  PlotSeries blur{"of which blur", {}, PlotMark::dotted, PlotColour::gray};
  PlotSeries period{
      "Finest period (right)", {}, PlotMark::dashed, PlotColour::orange, PlotSide::right};
  for (const auto& step : steps) {
    const double percent = 100 * static_cast<double>(step.frames) / usable;
    error.points.push_back({percent, 100 * step.expected->total()});
    noise.points.push_back({percent, 100 * step.expected->noise});
    blur.points.push_back({percent, 100 * step.expected->blur});
    period.points.push_back({percent, step.resolution > 0 ? 1 / step.resolution : kNone});
  }
  const auto kept = run.result.kept.size();
  const double share = 100 * static_cast<double>(kept) / usable;
  Plot plot{"How many frames to keep",
            {"Frames kept, % of the usable frames"},
            {"Expected error, % of the detail"},
            {std::move(error), std::move(noise), std::move(blur), std::move(period)}};
  plot.right = {"Finest period, px of a frame"};
  plot.vertical_lines.push_back({share, fmt::format("{:.0f}% kept", share)});
  const std::string words = kept_words(run);
  return Chart{"keep",
               words +
                   " Each point is a stack of the best frames only. More frames lower the "
                   "noise, but the worse ones blur.",
               words, std::move(plot)};
}

bool has_times(const StackOutcome& run) {
  return run.health.timing && !run.health.timing->backwards;
}

// Usable frames in order of the capture, evenly thinned.
std::vector<const FrameRecord*> shown_frames(const StackOutcome& run) {
  std::vector<const FrameRecord*> usable;
  for (const FrameRecord& record : run.health.survey.records) {
    if (record.usable()) usable.push_back(&record);
  }
  const std::size_t step = (usable.size() + kMostPoints - 1) / kMostPoints;
  if (step < 2) return usable;
  std::vector<const FrameRecord*> shown;
  for (std::size_t i = 0; i < usable.size(); i += step) shown.push_back(usable[i]);
  return shown;
}

std::vector<FrameIndex> sorted_kept(const StackOutcome& run) {
  std::vector<FrameIndex> kept = run.result.kept;
  std::sort(kept.begin(), kept.end());
  return kept;
}

double median_sharpness(const StackOutcome& run) {
  std::vector<double> values;
  for (const FrameRecord& record : run.health.survey.records) {
    if (record.usable()) values.push_back(record.sharpness);
  }
  const double median = upper_median(std::move(values));
  return median > 0 ? median : 1;
}

std::string trend_words(const StackOutcome& run) {
  const auto& trend = run.health.trend;
  if (!trend) return "No trend is significant.";
  std::string text = fmt::format("The best tenth is {:.2f} times as sharp as the median frame",
                                 trend->tenth_over_median);
  if (!trend->significant) return text + "; sharpness neither rises nor falls steadily.";
  return text + fmt::format("; sharpness {} by {:.0f}% over the capture.",
                            trend->change > 0 ? "rises" : "falls", 100 * std::abs(trend->change));
}

Chart sharpness_chart(const StackOutcome& run) {
  const bool timed = has_times(run);
  PlotSeries kept{"Kept", {}, PlotMark::dots, PlotColour::blue};
  PlotSeries others{"Usable, not kept", {}, PlotMark::rings, PlotColour::orange};
  const auto chosen = sorted_kept(run);
  const double median = median_sharpness(run);
  for (const FrameRecord* record : shown_frames(run)) {
    const double x = timed ? record->time_s : static_cast<double>(record->index);
    const bool is_kept = std::binary_search(chosen.begin(), chosen.end(), record->index);
    (is_kept ? kept : others).points.push_back({x, record->sharpness / median});
  }
  Plot plot{"Sharpness of the frames over time",
            {timed ? "Time, s" : "Frame number"},
            {"Sharpness, median frame = 1"},
            {std::move(kept), std::move(others)}};
  return {"sharpness",
          "Each dot is a frame, in the order of the capture. If it falls steadily, check the "
          "focus. A few high dots are the calm moments.",
          trend_words(run), std::move(plot)};
}

Chart distribution_chart(const StackOutcome& run) {
  const double median = median_sharpness(run);
  const auto chosen = sorted_kept(run);
  double low = std::numeric_limits<double>::max();
  double high = std::numeric_limits<double>::lowest();
  for (const FrameRecord& record : run.health.survey.records) {
    if (!record.usable()) continue;
    low = std::min(low, record.sharpness / median);
    high = std::max(high, record.sharpness / median);
  }
  const double width = high > low ? (high - low) / kSharpnessBins : 1;
  PlotSeries all{"Usable", {}, PlotMark::steps, PlotColour::orange};
  for (int i = 0; i <= kSharpnessBins; ++i) all.points.push_back({low + i * width, 0});
  PlotSeries kept{"Kept", all.points, PlotMark::area, PlotColour::blue};
  for (const FrameRecord& record : run.health.survey.records) {
    if (!record.usable()) continue;
    const auto bin = static_cast<std::size_t>(std::clamp(
        static_cast<int>((record.sharpness / median - low) / width), 0, kSharpnessBins - 1));
    all.points[bin].y += 1;
    if (std::binary_search(chosen.begin(), chosen.end(), record.index)) kept.points[bin].y += 1;
  }
  Plot plot{"Distribution of the sharpness",
            {"Sharpness, median frame = 1"},
            {"Number of frames"},
            {std::move(all), std::move(kept)}};
  return {"distribution",
          "Frames by their sharpness. A long tail to the right, few frames that are much better "
          "than the others, favours a small share.",
          fmt::format("Sharpness is between {:.2f} and {:.2f} times that of the median frame.", low,
                      high),
          std::move(plot)};
}

Chart track_chart(const StackOutcome& run) {
  report::Track track{"Where the object was in the frame", {}};
  for (const FrameRecord* record : shown_frames(run))
    track.points.push_back(record->offset.displacement());
  std::string words = "The path of the object over the frame.";
  if (const auto& motion = run.health.motion) {
    const char* unit = motion->unit == health::DriftUnit::px_per_s ? "s" : "frame";
    words = fmt::format(
        "The object moved over {:.1f} by {:.1f} px; steady drift {:+.2f} px/{} across (+ is "
        "right), {:+.2f} px/{} down.",
        motion->range.x_px, motion->range.y_px, motion->x.slope, unit, motion->y.slope, unit);
  }
  return {"track", words + " The line gets darker and thicker towards the end.", words,
          std::move(track)};
}

std::optional<Chart> arrows_chart(const StackOutcome& run) {
  const auto& shown = run.result.illustration;
  if (!shown || shown->movements.empty()) return std::nullopt;
  report::Arrows arrows{"How the air moved the regions",
                        {run.result.crop.width_px(), run.result.crop.height_px()},
                        shown->places,
                        shown->movements};
  const auto words =
      fmt::format("Regions moved independently by {:.2f} px rms about their mean positions.",
                  run.result.local_shift_rms_px);
  return Chart{"arrows",
               words +
                   " Each arrow points from the mean position of a region to its position in that "
                   "frame. The movement of the whole picture is subtracted.",
               words, std::move(arrows)};
}

// The nodes nearest to the centres of squares that are large enough to be distinguished.
report::Map map_over(const stack::NodeMap& nodes, Size picture) {
  report::Map map;
  map.title = "Effective number of frames at each place";
  const int longer = std::max(picture.width_px, picture.height_px);
  map.square_px = std::max(static_cast<int>(std::ceil(nodes.step_px)),
                           (longer + kMostSquares - 1) / kMostSquares);
  map.columns = (picture.width_px + map.square_px - 1) / map.square_px;
  map.rows = (picture.height_px + map.square_px - 1) / map.square_px;
  for (int r = 0; r < map.rows; ++r) {
    for (int c = 0; c < map.columns; ++c)
      map.values.push_back(nodes.nearest((c + 0.5) * map.square_px, (r + 0.5) * map.square_px));
  }
  return map;
}

Chart map_chart(const StackOutcome& run) {
  report::Map map = map_over(run.result.effective_frames, run.result.picture.size());
  const auto& figures = run.figures.at("effective_frames");
  map.low = 0;
  map.high = std::max(1.0, figures.at("max").get<double>());
  map.unit = "frames";
  const auto words =
      fmt::format("Between {:.0f} and {:.0f} frames, {:.0f} in the median, of {} kept ones.",
                  figures.at("min").get<double>(), figures.at("max").get<double>(),
                  figures.at("median").get<double>(), run.result.kept.size());
  return {"map",
          "Frames are weighted by the sharpness of their patches, so different frames contribute "
          "at different places. The map shows how many equally weighted frames would have the same "
          "noise. " +
              words,
          words, std::move(map)};
}

}  // namespace

std::optional<report::Chart> gain_chart(const nlohmann::json& figures,
                                        const spectrum::FrcCurve& frc) {
  if (!figures.contains("detail_gains")) return std::nullopt;
  PlotSeries gain{"Gain", {}, PlotMark::line, PlotColour::blue};
  for (const auto& point : figures.at("detail_gains")) {
    gain.points.push_back(
        {point.at("cycles_per_px").get<double>(), point.at("gain").get<double>()});
  }
  if (gain.points.size() < 2) return std::nullopt;
  const auto most = *std::max_element(gain.points.begin(), gain.points.end(),
                                      [](const auto& a, const auto& b) { return a.y < b.y; });
  const auto words = fmt::format("At most {:.1f} times, at {:.2f} cycles a pixel.", most.y, most.x);
  Plot plot{"What was done to the detail",
            {"Spatial frequency, cycles/px"},
            {"Gain (1 = unchanged)"},
            {std::move(gain)}};
  if (const auto resolution = frc.resolution())
    plot.vertical_lines.push_back({*resolution, "resolution"});
  return Chart{"gain",
               "Gain of the finished picture over the linear stack, for detail of each size. "
               "Beyond the resolution there is only noise, which should not be raised.",
               words, std::move(plot)};
}

std::vector<report::Chart> report_charts(const StackOutcome& run,
                                         const std::optional<health::Optics>& optics) {
  std::vector<report::Chart> charts;
  const auto add = [&charts](std::optional<Chart> chart) {
    if (chart) charts.push_back(std::move(*chart));
  };
  add(frc_chart(run, optics));
  add(keep_chart(run));
  add(sharpness_chart(run));
  add(distribution_chart(run));
  add(track_chart(run));
  add(arrows_chart(run));
  add(map_chart(run));
  if (run.finished) add(gain_chart(run.figures, run.result.frc));
  return charts;
}

}  // namespace lull::run
