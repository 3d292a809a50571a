#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "core/parallel.h"
#include "core/words.h"
#include "files/atomic_file.h"
#include "files/results.h"
#include "quality/frame_table.h"
#include "run/metrics_outcome.h"
#include "run/metrics_plot.h"
#include "run/opening.h"
#include "run/outputs.h"
#include "run/verdict.h"

namespace lull::run {

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

std::vector<std::string> inputs_of(const MetricsRequest& request) {
  std::vector<std::string> inputs = request.input.files();
  for (const std::string& truth : request.truths)
    inputs.insert(inputs.end(), {truth, quality::strehl_table_path(truth)});
  inputs.insert(inputs.end(), request.scores.begin(), request.scores.end());
  return inputs;
}

void check_count(const char* option, const std::vector<std::string>& tables,
                 const std::vector<std::string>& captures) {
  if (tables.empty() || tables.size() == captures.size()) return;
  throw UsageError(
      fmt::format("{} is given {}, and there {} {}; give it once for each, in their order", option,
                  counted(static_cast<std::int64_t>(tables.size()), "time"),
                  captures.size() == 1 ? "is" : "are",
                  counted(static_cast<std::int64_t>(captures.size()), "capture")));
}

// Checks that a table belongs to the capture; adds a note where it is longer. For a part of the
// capture it must reach the last frame.
void check_table(const char* noun, const quality::FrameTable& table, const calibrate::Part& part,
                 CaptureMetrics& outcome) {
  const std::size_t rows = table.frames();
  const auto frames = static_cast<std::size_t>(outcome.survey.records.back().index) + 1;
  const bool some = !part.frames.empty() || !part.excluded.empty();
  if (rows < frames || (rows > frames + kMostCutOff && !some)) {
    throw InputError(
        fmt::format("{}: {} lists {} frames, and {} has {}; give the table of this "
                    "capture",
                    table.path, noun, rows, outcome.capture, frames));
  }
  if (rows > frames && !some) {
    outcome.notes.push_back(
        fmt::format("{} lists {} frames and the capture has {}: the last {} may have been cut off",
                    noun, rows, frames, rows - frames));
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
  quality::Trials run(const std::vector<std::size_t>& positions) {
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
  quality::Trials out_;
};

// The tables of one capture.
struct Tables {
  std::optional<quality::FrameTable> truth;
  std::optional<quality::FrameTable> scores;

  // Whether all of them have a value for the frame.
  [[nodiscard]] bool tell_of(std::int64_t index) const {
    const auto frame = static_cast<std::size_t>(index);
    for (const auto* table : {&truth, &scores}) {
      if (!*table) continue;
      for (const auto& column : (*table)->columns) {
        if (std::isnan(column.values[frame])) return false;
      }
    }
    return true;
  }
};

Tables tables_of(const MetricsRequest& request, std::size_t capture) {
  Tables tables;
  if (!request.truths.empty())
    tables.truth = quality::read_strehl_table(quality::strehl_table_path(request.truths[capture]));
  if (!request.scores.empty()) tables.scores = quality::read_score_table(request.scores[capture]);
  return tables;
}

// Positions in the survey's records of usable frames of which the tables tell.
std::vector<std::size_t> comparable(const survey::Survey& survey, const Tables& tables) {
  std::vector<std::size_t> positions;
  for (std::size_t i = 0; i < survey.records.size(); ++i) {
    if (survey.records[i].usable() && tables.tell_of(survey.records[i].index))
      positions.push_back(i);
  }
  return positions;
}

void add_values(const Tables& tables, quality::Trials& trials) {
  const auto values_of = [&](const quality::FrameTable::Column& column) {
    std::vector<double> values;
    for (const std::int64_t frame : trials.frames)
      values.push_back(column.values[static_cast<std::size_t>(frame)]);
    return values;
  };
  if (tables.truth) trials.truth = values_of(tables.truth->columns.front());
  if (!tables.scores) return;
  for (const auto& column : tables.scores->columns)
    trials.own.push_back({column.name, values_of(column)});
}

// Several measures together are compared like scores of one's own.
void add_sharpness(const survey::Survey& survey, quality::Trials& trials) {
  quality::OwnScores together{quality::kTogether, {}};
  auto record = survey.records.begin();
  for (const std::int64_t frame : trials.frames) {
    while (record->index < frame) ++record;
    together.scores.push_back(record->sharpness);
  }
  trials.own.push_back(std::move(together));
}

// Best of some rounds: other load on the machine can only make it slower.
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

std::array<double, quality::kMeasures> speeds(capture::FrameStore& frames,
                                              const quality::Trials& trials) {
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
  std::array<double, quality::kMeasures> out{};
  quality::MeasureWorkspace work;
  for (std::size_t m = 0; m < quality::kMeasures && !planes.empty(); ++m) {
    out[m] = speed_mpx_per_s(planes, quality::kMetrics[m], work);
  }
  return out;
}

void require_frames(std::size_t compared, const CaptureMetrics& outcome) {
  require_usable(outcome.survey, outcome.capture, kFewestFrames, kPurpose);
  if (compared >= static_cast<std::size_t>(kFewestFrames)) return;
  throw NothingUsable(
      fmt::format("{}: {} of the {} usable frames can be compared{}, and {} needs at least {}",
                  outcome.capture, compared, outcome.survey.usable(),
                  outcome.truth.empty() ? "" : ", since the truth is empty for the others",
                  kPurpose, kFewestFrames));
}

void write_results(const MetricsRequest& request, const MetricsOutcome& outcome,
                   const Resources& resources) {
  files::Results results;
  if (!request.csv.empty()) {
    results.add(request.csv,
                [&](const auto& path) { files::write_file(path, metrics_csv(outcome)); });
  }
  if (!request.plot.empty()) {
    results.add(request.plot,
                [&](const auto& path) { files::write_file(path, metrics_plot(outcome)); });
  }
  commit(results, resources);
}

CaptureMetrics measured(const CaptureInput& input, const Tables& tables,
                        const RunControl& control) {
  const Progress& progress = control.progress;
  const auto frames = open_capture(input, Passes::several, control).frames;
  CaptureMetrics outcome;
  outcome.capture = frames->info().path;
  outcome.size = frames->info().size;
  outcome.survey = survey::survey_capture(*frames, {input.metric}, progress);
  outcome.notes = frames->info().notes;
  if (tables.truth) {
    check_table("the truth", *tables.truth, input.part, outcome);
    outcome.truth = tables.truth->path;
    outcome.truth_column = tables.truth->columns.front().name;
  }
  if (tables.scores) check_table("the table of scores", *tables.scores, input.part, outcome);
  const auto positions = comparable(outcome.survey, tables);
  require_frames(positions.size(), outcome);
  outcome.trials = Trier(*frames, outcome.survey, progress).run(positions);
  require_frames(outcome.trials.trials.size(), outcome);
  if (outcome.survey.shares) add_sharpness(outcome.survey, outcome.trials);
  add_values(tables, outcome.trials);
  outcome.figures = quality::metrics_figures(outcome.trials, speeds(*frames, outcome.trials));
  return outcome;
}

}  // namespace

MetricsOutcome run_metrics(const MetricsRequest& request, const RunControl& control) {
  check_complete(metrics_options(), request);
  const std::vector<std::string>& captures = request.input.captures;
  check_count("--truth", request.truths, captures);
  check_count("--scores", request.scores, captures);
  check_results({request.csv, request.plot}, inputs_of(request), control.resources);
  std::vector<Tables> tables;
  for (std::size_t i = 0; i < captures.size(); ++i) tables.push_back(tables_of(request, i));
  MetricsOutcome outcome;
  for (std::size_t i = 0; i < captures.size(); ++i) {
    CaptureInput input = request.input;
    input.captures = {captures[i]};
    outcome.captures.push_back(measured(input, tables[i], control));
  }
  write_results(request, outcome, control.resources);
  return outcome;
}

}  // namespace lull::run
