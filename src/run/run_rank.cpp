#include <fmt/format.h>

#include <algorithm>
#include <filesystem>

#include "capture/video_writer.h"
#include "core/error.h"
#include "files/atomic_file.h"
#include "files/results.h"
#include "run/opening.h"
#include "run/outputs.h"
#include "run/rank_outcome.h"
#include "run/verdict.h"

namespace lull::run {

namespace {

// What a reader of the video must know and the video cannot state.
std::vector<std::string> video_notes(const RankRequest& request, const capture::CaptureInfo& info) {
  std::vector<std::string> notes;
  if (request.best_first.empty()) return notes;
  if (request.input.is_calibrated()) {
    notes.push_back(fmt::format("{} holds the frames as recorded; calibrate it like the capture",
                                request.best_first));
  }
  if (info.cfa != capture::Cfa::none) {
    notes.push_back(fmt::format(
        "{} holds the mosaic as gray, since its format has no colour filters; they are {}",
        request.best_first, capture::cfa_name(info.cfa)));
  }
  return notes;
}

void write_video(const std::filesystem::path& path, const RankRequest& request,
                 capture::FrameStore& frames, const RankOutcome& outcome,
                 const RunControl& control) {
  const std::vector<std::size_t>& order = outcome.order;
  const auto wanted = static_cast<std::size_t>(request.count);
  const auto count = wanted > 0 ? std::min(wanted, order.size()) : order.size();
  capture::VideoWriter writer(path, frames.info(), frames.info().times.frames_per_s,
                              control.resources.threads);
  for (std::size_t i = 0; i < count; ++i) {
    control.progress.step("writing the best frames", static_cast<std::int64_t>(i),
                          static_cast<std::int64_t>(count));
    const auto frame = frames.at(outcome.survey.records[order[i]].index);
    if (frame.ok()) writer.add(frame.value());
  }
  writer.finish();
}

// Programs take a file for what its name says.
void check_video_name(const std::string& path) {
  const std::string ending = std::filesystem::path(path).extension().string();
  if (path.empty() || ending == ".mkv" || ending == ".MKV") return;
  throw UsageError(fmt::format(
      "--best-first {}: the video is Matroska; give it a name that ends in .mkv", path));
}

void write_results(const RankRequest& request, RankOutcome& outcome, const RunControl& control) {
  files::Results results;
  if (!request.csv.empty()) {
    results.add(request.csv,
                [&](const auto& path) { files::write_file(path, rank_table(outcome)); });
  }
  if (!request.best_first.empty()) {
    // Frames as the camera gave them: a video cannot state the black level of calibrated ones.
    const auto recorded = open_recorded(request.input, control);
    results.add(request.best_first,
                [&](const auto& path) { write_video(path, request, *recorded, outcome, control); });
  }
  commit(results, control.resources);
  for (const std::string& path : {request.csv, request.best_first})
    if (!path.empty()) outcome.written.push_back(path);
}

}  // namespace

RankOutcome run_rank(const RankRequest& request, const RunControl& control) {
  check_complete(rank_options(), request);
  check_video_name(request.best_first);
  check_results({request.csv, request.best_first}, request.input.files(), control.resources);
  const MemoryNeed need = {[&request](const capture::CaptureInfo& info) {
    return need_of_survey(info) + (request.best_first.empty() ? 0 : need_of_video(info));
  }};
  const auto frames = open_capture(request.input, Passes::one, control, need).frames;
  RankOutcome outcome;
  outcome.survey = survey::survey_capture(*frames, {request.input.metric}, control.progress);
  outcome.info = frames->info();
  outcome.order = quality::rank(outcome.survey.records);
  outcome.notes = outcome.info.notes;
  if (std::string turned = survey::text_of(outcome.survey.orientation); !turned.empty())
    outcome.notes.push_back(std::move(turned));
  if (std::string turning = field_turn_warning(outcome.survey); !turning.empty())
    outcome.notes.push_back(std::move(turning));
  for (std::string& note : video_notes(request, outcome.info))
    outcome.notes.push_back(std::move(note));
  if (!outcome.order.empty()) write_results(request, outcome, control);
  return outcome;
}

void require_ranked(const RankOutcome& outcome) {
  require_usable(outcome.survey, outcome.info.path, 1, "ranking");
}

}  // namespace lull::run
