#include "stack/batch_steps.h"

#include <algorithm>
#include <numeric>
#include <utility>

#include "core/parallel.h"
#include "stack/patch_weights.h"

namespace lull::stack {

namespace {

constexpr double kMostRepaired = 0.03;  // of a frame's samples: a bright track fills a hundredth

template <class Body>
void for_all(std::span<FrameAtWork> frames, const Body& body) {
  parallel_for(static_cast<std::int64_t>(frames.size()),
               [&](std::int64_t i) { body(frames[static_cast<std::size_t>(i)]); });
}

// Leaves no detail to the cells around a place, which a foreign light may have given them.
void forget_detail(const Place& place, quality::CellMeasure& cells) {
  constexpr int kReachPx =
      quality::kCellPx / 2;  // what sharpness measures and their 4 x 4 sums see
  quality::CellGrid& energy = cells.energy;
  const auto cell = [](int px, int count) {
    return std::clamp(px / quality::kCellPx, 0, count - 1);
  };
  if (energy.count() == 0) return;
  for (int r = cell(place.y - kReachPx, energy.rows());
       r <= cell(place.y + kReachPx, energy.rows()); ++r) {
    for (int c = cell(place.x - kReachPx, energy.columns());
         c <= cell(place.x + kReachPx, energy.columns()); ++c)
      energy.row(r)[c] = 0;
  }
}

}  // namespace

BatchContext::BatchContext(const capture::CaptureInfo& capture_info,
                           const survey::Survey& capture_survey,
                           const Candidates& capture_candidates)
    : info(capture_info),
      survey(capture_survey),
      candidates(capture_candidates),
      in_colour(has_colour(capture_info)),
      noise_gain(quality::noise_gain(capture_survey.metric, capture_info.colour)) {}

RegisteredFrames LoadedFrames::at_tracked_shifts() && {
  for (FrameAtWork& frame : frames_) frame.estimate = tracked(frame);
  return RegisteredFrames(std::move(*this));
}

RegisteredFrames LoadedFrames::at_fields(const KnownFields& fields) && {
  for (FrameAtWork& frame : frames_) frame.estimate = fields.at(frame.position);
  return RegisteredFrames(std::move(*this));
}

RegisteredFrames LoadedFrames::register_by(const align::FieldEstimator& estimator,
                                           const KnownFields& known) && {
  for_all(frames_, [&](FrameAtWork& frame) {
    const auto start = known.find(frame.position);
    const bool measured = start != known.end();
    const auto levels = measured ? align::LevelsUsed::finer : align::LevelsUsed::all;
    frame.estimate = estimator.estimate(frame.luminance, measured ? start->second : tracked(frame),
                                        levels, frame.workspace.field);
  });
  return RegisteredFrames(std::move(*this));
}

align::FieldEstimate LoadedFrames::tracked(const FrameAtWork& frame) const {
  const Candidates& candidates = context_->candidates;
  const quality::FrameRecord& record = candidates.at(frame.position);
  align::ShiftField field(context_->info.size);
  field.turn = context_->survey.field_turn.at(record.index);
  const Displacement origin = field.turned(candidates.origin().displacement());
  field.whole = record.offset - FrameOffset{origin.x_px, origin.y_px};
  return {std::move(field), 1.0};
}

WeightedFrames RegisteredFrames::weigh_equally() && {
  for (FrameAtWork& frame : frames_)
    frame.weights.assign(frame.estimate.field.local_x.size(), 1.0F);
  return {std::move(*this), 0};
}

WeightedFrames RegisteredFrames::weigh_by_sharpness(const OutlierBounds& bounds) && {
  std::vector<std::int64_t> found(count());
  parallel_for(static_cast<std::int64_t>(count()), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    FrameAtWork& frame = frames_[i];
    const std::vector<Place> places = repair(frame, bounds);
    if (static_cast<double>(places.size()) >
        kMostRepaired * static_cast<double>(context_->info.size.area_px())) {
      frame.weights.assign(frame.estimate.field.local_x.size(), 0.0F);
      return;
    }
    quality::CellMeasure cells = frame.measure(context_->survey.metric);
    for (const Place& place : places) forget_detail(place, cells);
    frame.weights = weights_of(frame, cells);
    found[i] = static_cast<std::int64_t>(places.size());
  });
  return {std::move(*this), std::accumulate(found.begin(), found.end(), std::int64_t{0})};
}

WeightedFrames RegisteredFrames::weigh_as(const KnownWeights& weights,
                                          const OutlierBounds& bounds) && {
  std::vector<std::int64_t> found(count());
  parallel_for(static_cast<std::int64_t>(count()), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    frames_[i].weights = weights[frames_[i].position];
    found[i] = static_cast<std::int64_t>(repair(frames_[i], bounds).size());
  });
  return {std::move(*this), std::accumulate(found.begin(), found.end(), std::int64_t{0})};
}

std::vector<Place> RegisteredFrames::repair(FrameAtWork& frame, const OutlierBounds& bounds) const {
  return bounds.repair(frame.luminance, context_->in_colour ? &frame.colours : nullptr,
                       frame.estimate.field, frame.estimate.gain,
                       context_->candidates.at(frame.position).noise);
}

std::vector<float> RegisteredFrames::weights_of(const FrameAtWork& frame,
                                                const quality::CellMeasure& cells) const {
  const quality::FrameRecord& r = context_->candidates.at(frame.position);
  return patch_weights(cells, context_->noise_gain * r.noise * r.noise, r.brightness,
                       context_->survey.target.object, context_->candidates.median_sharpness(),
                       frame.estimate.field, {});
}

std::vector<Contribution> WeightedFrames::contributions(Channels channels) const {
  std::vector<Contribution> parts;
  for (const FrameAtWork& frame : frames_) {
    Contribution part;
    if (channels == Channels::luminance) {
      part.channels[0].plane = &frame.luminance;
    } else {
      for (int c = 0; c < 3; ++c)
        part.channels[static_cast<std::size_t>(c)] = frame.colours.samples(c);
    }
    part.field = &frame.estimate.field;
    part.weights = &frame.weights;
    part.gain = frame.estimate.gain;
    part.half = half_of(frame.position);
    part.in_reference = frame.position < context_->candidates.refined_count();
    parts.push_back(part);
  }
  return parts;
}

}  // namespace lull::stack
