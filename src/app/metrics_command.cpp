#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "app/commands.h"
#include "app/metrics_plot.h"
#include "app/metrics_report.h"
#include "app/results.h"
#include "app/strehl_table.h"
#include "app/verdict.h"
#include "core/error.h"
#include "core/parallel.h"
#include "files/atomic_file.h"

namespace lull::app {

namespace {

using capture::Frame;

constexpr std::int64_t kFewestFrames = 3;  // two are always in the same order or the opposite one
constexpr std::size_t kBlockFrames = 32;
// So many frames at the end of a recording may be cut off (common practice, no source).
constexpr std::size_t kMostCutOff = 3;
constexpr std::size_t kTimedFrames = 16;
constexpr int kTimedRounds = 5;
constexpr double kTimedSeconds = 0.02;  // a round, at least

const char* const kPurpose = "a comparison of measures";

std::filesystem::path place(const std::string& path) {
  return std::filesystem::weakly_canonical(std::filesystem::absolute(path));
}

void check_outputs(const MetricsOptions& options) {
  for (const std::string& result : {options.csv, options.plot}) {
    if (result.empty()) continue;
    for (const std::string& truth : {options.truth, strehl_table_path(options.truth)}) {
      if (!truth.empty() && place(result) == place(truth)) {
        throw UsageError(fmt::format(
            "{}: this is an input of the run and would be overwritten; choose another name",
            result));
      }
    }
    check_output(result, options.input);
  }
  if (!options.csv.empty() && !options.plot.empty() && place(options.csv) == place(options.plot)) {
    throw UsageError(fmt::format(
        "{}: the table and the plot cannot have the same name; choose another for one of them",
        options.csv));
  }
}

// Whether the truth is that of the capture; what to say when it goes on beyond its end.
void check_truth(const StrehlTable& truth, std::size_t frames, MetricsReport& report) {
  const std::size_t rows = truth.strehl.size();
  if (rows < frames || rows > frames + kMostCutOff) {
    throw InputError(fmt::format(
        "{}: the truth tells of {} frames, and {} has {}; give the table of this capture",
        truth.path, rows, report.capture, frames));
  }
  if (rows > frames) {
    report.notes.push_back(fmt::format(
        "the truth tells of {} frames and the capture has {}: the last {} may have been cut off",
        rows, frames, rows - frames));
  }
}

class Trier {
 public:
  Trier(capture::FrameStore& frames, const survey::Survey& survey, const Progress& progress)
      : frames_(frames),
        survey_(survey),
        progress_(progress),
        setting_{frames.info(), survey.target, survey.reduction} {}

  // Scores of the frames at these positions of the survey's records, in order; those that cannot
  // be read a second time are left out.
  Trials run(const std::vector<std::size_t>& positions) {
    const auto total = static_cast<std::int64_t>(positions.size());
    for (std::size_t first = 0; first < positions.size(); first += kBlockFrames) {
      progress_.step("measuring", static_cast<std::int64_t>(first), total);
      read_block(positions, first);
      try_block();
    }
    return std::move(out_);
  }

 private:
  void read_block(const std::vector<std::size_t>& positions, std::size_t first) {
    block_.clear();
    records_.clear();
    const std::size_t end = std::min(first + kBlockFrames, positions.size());
    for (std::size_t i = first; i < end; ++i) {
      const quality::FrameRecord& record = survey_.records[positions[i]];
      Outcome<Frame> frame = frames_.at(record.index);
      if (!frame.ok()) continue;
      block_.push_back(std::move(frame).value());
      records_.push_back(&record);
    }
  }

  void try_block() {
    workspaces_.resize(std::max(workspaces_.size(), block_.size()));
    std::vector<quality::Trial> trials(block_.size());
    parallel_for(static_cast<std::int64_t>(block_.size()), [&](std::int64_t n) {
      const auto i = static_cast<std::size_t>(n);
      trials[i] = quality::try_measures(block_[i], *records_[i], setting_, workspaces_[i]);
    });
    for (std::size_t i = 0; i < block_.size(); ++i) {
      out_.frames.push_back(records_[i]->index);
      out_.trials.push_back(trials[i]);
    }
  }

  capture::FrameStore& frames_;
  const survey::Survey& survey_;
  const Progress& progress_;
  quality::TrialSetting setting_;
  std::vector<Frame> block_;
  std::vector<const quality::FrameRecord*> records_;
  std::vector<quality::TrialWorkspace> workspaces_;
  Trials out_;
};

// Positions in the survey's records of usable frames, with truth only of those that have one.
std::vector<std::size_t> comparable(const survey::Survey& survey, const StrehlTable* truth) {
  std::vector<std::size_t> positions;
  for (std::size_t i = 0; i < survey.records.size(); ++i) {
    if (!survey.records[i].usable()) continue;
    const auto frame = static_cast<std::size_t>(survey.records[i].index);
    if (truth != nullptr && std::isnan(truth->strehl[frame])) continue;
    positions.push_back(i);
  }
  return positions;
}

// Best of some rounds: whatever else the machine does only makes it slower.
double speed_mpx_per_s(const std::vector<quality::Luminance>& planes, quality::Metric metric,
                       quality::MeasureWorkspace& work) {
  using Clock = std::chrono::steady_clock;
  double best = 0;
  for (int round = 0; round < kTimedRounds; ++round) {
    double pixels = 0;
    double spent_s = 0;
    const auto start = Clock::now();
    while (spent_s < kTimedSeconds) {
      for (const quality::Luminance& plane : planes) {
        static_cast<void>(quality::measure(plane, metric, work));
        pixels += static_cast<double>(plane.view.size().area_px());
      }
      spent_s = std::chrono::duration<double>(Clock::now() - start).count();
    }
    best = std::max(best, pixels / spent_s / 1e6);
  }
  return best;
}

std::array<double, kMeasures> speeds(capture::FrameStore& frames, const Trials& trials) {
  const std::size_t count = std::min(kTimedFrames, trials.frames.size());
  std::vector<Frame> held;
  std::vector<quality::LuminanceBuffer> buffers(count);
  std::vector<quality::Luminance> planes;
  for (std::size_t i = 0; i < count; ++i) {
    Outcome<Frame> frame = frames.at(trials.frames[i]);
    if (!frame.ok()) continue;
    held.push_back(std::move(frame).value());
    planes.push_back(quality::luminance(held.back(), frames.info(), buffers[i]));
  }
  std::array<double, kMeasures> out{};
  quality::MeasureWorkspace work;
  for (std::size_t m = 0; m < kMeasures && !planes.empty(); ++m) {
    out[m] = speed_mpx_per_s(planes, quality::kMetrics[m], work);
  }
  return out;
}

void require_frames(std::size_t compared, const MetricsReport& report) {
  require_usable(report.survey, report.capture, kFewestFrames, kPurpose);
  if (compared >= static_cast<std::size_t>(kFewestFrames)) return;
  throw NothingUsable(
      fmt::format("{}: {} of the {} usable frames can be compared{}, and {} needs at least {}",
                  report.capture, compared, report.survey.usable(),
                  report.truth.empty() ? "" : ", for the truth leaves the others empty", kPurpose,
                  kFewestFrames));
}

void write_results(const MetricsOptions& options, const MetricsReport& report) {
  Results results;
  if (!options.csv.empty()) {
    results.add(options.csv,
                [&](const auto& path) { files::write_file(path, metrics_csv(report)); });
  }
  if (!options.plot.empty()) {
    results.add(options.plot,
                [&](const auto& path) { files::write_file(path, metrics_plot(report)); });
  }
  results.commit();
}

}  // namespace

void metrics(const MetricsOptions& options, const Progress& progress) {
  const survey::SurveyOptions survey_options{parse_metric(options.input.metric)};
  check_outputs(options);
  std::optional<StrehlTable> truth;
  if (!options.truth.empty()) truth = read_strehl_table(strehl_table_path(options.truth));
  const auto frames = open_capture(options.input, progress).frames;
  MetricsReport report;
  report.capture = frames->info().path;
  report.size = frames->info().size;
  report.survey = survey::survey_capture(*frames, survey_options, progress);
  report.notes = frames->info().notes;
  if (truth) {
    check_truth(*truth, report.survey.records.size(), report);
    report.truth = truth->path;
    report.truth_column = truth->column;
  }
  const auto positions = comparable(report.survey, truth ? &*truth : nullptr);
  require_frames(positions.size(), report);
  report.trials = Trier(*frames, report.survey, progress).run(positions);
  require_frames(report.trials.trials.size(), report);
  for (const std::int64_t frame : report.trials.frames) {
    if (truth) report.trials.truth.push_back(truth->strehl[static_cast<std::size_t>(frame)]);
  }
  report.figures = metrics_figures(report.trials, speeds(*frames, report.trials));
  write_results(options, report);
  if (options.input.json) {
    fmt::print("{}\n", metrics_json(report).dump(1));
  } else {
    fmt::print("{}", metrics_text(report));
  }
}

}  // namespace lull::app
