#include "stack/frame_batch.h"

#include <algorithm>
#include <numeric>
#include <utility>

#include "core/parallel.h"
#include "stack/patch_weights.h"

namespace lull::stack {

namespace {

constexpr std::size_t kMostFrames = 16;
constexpr double kMostRepaired = 0.03;  // of a frame's samples: a bright track fills a hundredth

std::size_t frames_for(Size size, bool in_colour, std::size_t memory_bytes) {
  const std::size_t bytes = static_cast<std::size_t>(size.area_px()) *
                            (in_colour ? 24 : 12);  // float frames, luminance, box planes
  return std::clamp<std::size_t>(memory_bytes / std::max<std::size_t>(bytes, 1), 1, kMostFrames);
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

FrameBatch::FrameBatch(capture::FrameStore& store, const survey::Survey& survey,
                       const Candidates& candidates, std::size_t memory_bytes)
    : store_(store),
      survey_(survey),
      candidates_(candidates),
      in_colour_(has_colour(store.info())),
      noise_gain_(quality::noise_gain(survey.metric, store.info().colour == capture::Colour::cfa)),
      frames_(frames_for(store.info().size, in_colour_, memory_bytes)) {}

void FrameBatch::load(std::size_t first, std::size_t count, bool measured) {
  std::vector<std::size_t> positions(count);
  std::iota(positions.begin(), positions.end(), first);
  load(std::move(positions), measured);
}

void FrameBatch::load(std::vector<std::size_t> positions, bool measured) {
  std::sort(positions.begin(), positions.end(), [&](std::size_t a, std::size_t b) {
    return candidates_.at(a).index < candidates_.at(b).index;
  });
  std::vector<std::pair<std::size_t, capture::Frame>> read;
  for (const std::size_t position : positions) {
    Outcome<capture::Frame> frame = store_.at(candidates_.at(position).index);
    if (frame.ok()) read.emplace_back(position, std::move(frame).value());
  }
  std::sort(read.begin(), read.end(),
            [](const auto& a, const auto& b) { return a.first < b.first; });
  parallel_for(static_cast<std::int64_t>(read.size()), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    prepare(read[i].second, read[i].first, measured, frames_[i]);
  });
  count_ = read.size();
}

void FrameBatch::prepare(const capture::Frame& frame, std::size_t position, bool measured,
                         LoadedFrame& out) const {
  out.position = position;
  const quality::Luminance light = quality::luminance(frame, store_.info(), out.luminance);
  out.frame.assign(light.view, light.scale);
  if (in_colour_) out.colours.assign(frame, store_.info());
  if (measured) measure(light, out);
  const FrameOffset whole = candidates_.at(position).offset - candidates_.origin();
  out.estimate = {align::ShiftField(store_.info().size, whole), 1.0};
}

void FrameBatch::measure(const quality::Luminance& light, LoadedFrame& out) const {
  out.cells = quality::measure(light, survey_.metric, out.workspace);
  const auto per_unit = static_cast<float>(light.scale.per_unit);
  for (float& value : out.cells.energy.values()) value *= per_unit * per_unit;
  for (float& value : out.cells.mean.values())
    value = static_cast<float>(light.scale.to_light(static_cast<double>(value)));
}

void FrameBatch::estimate(const align::FieldEstimator& estimator, const KnownFields& known) {
  parallel_for(static_cast<std::int64_t>(count_), [&](std::int64_t n) {
    LoadedFrame& loaded = frames_[static_cast<std::size_t>(n)];
    const auto start = known.find(loaded.position);
    const bool refine_only = start != known.end();
    loaded.estimate = estimator.estimate(
        loaded.frame, refine_only ? start->second : loaded.estimate, refine_only, loaded.field);
  });
}

void FrameBatch::repair(const OutlierBounds& bounds) {
  parallel_for(static_cast<std::int64_t>(count_), [&](std::int64_t n) {
    static_cast<void>(repaired(frames_[static_cast<std::size_t>(n)], bounds));
  });
}

std::int64_t FrameBatch::weigh(const OutlierBounds& bounds) {
  std::vector<std::int64_t> found(count_);
  parallel_for(static_cast<std::int64_t>(count_), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    LoadedFrame& loaded = frames_[i];
    const std::vector<Place> places = repaired(loaded, bounds);
    if (static_cast<double>(places.size()) >
        kMostRepaired * static_cast<double>(loaded.frame.size().area_px())) {
      loaded.weights.assign(loaded.estimate.field.local_x.size(), 0.0F);
      return;
    }
    for (const Place& place : places) forget_detail(place, loaded.cells);
    loaded.weights = weights_of(loaded);
    found[i] = static_cast<std::int64_t>(places.size());
  });
  return std::accumulate(found.begin(), found.end(), std::int64_t{0});
}

std::vector<Place> FrameBatch::repaired(LoadedFrame& loaded, const OutlierBounds& bounds) const {
  return bounds.repair(loaded.frame, in_colour_ ? &loaded.colours : nullptr, loaded.estimate.field,
                       loaded.estimate.gain, candidates_.at(loaded.position).noise);
}

std::vector<float> FrameBatch::weights_of(const LoadedFrame& loaded) const {
  const quality::FrameRecord& r = candidates_.at(loaded.position);
  return patch_weights(loaded.cells, noise_gain_ * r.noise * r.noise, r.brightness,
                       survey_.target.object, candidates_.median_sharpness(), loaded.estimate.field,
                       {});
}

std::vector<Contribution> FrameBatch::contributions(Channels channels) const {
  std::vector<Contribution> parts;
  for (std::size_t i = 0; i < count_; ++i) {
    const LoadedFrame& loaded = frames_[i];
    Contribution part;
    if (channels == Channels::luminance) {
      part.channels[0].plane = &loaded.frame;
    } else {
      for (int c = 0; c < 3; ++c)
        part.channels[static_cast<std::size_t>(c)] = loaded.colours.samples(c);
    }
    part.field = &loaded.estimate.field;
    part.weights = &loaded.weights;
    part.gain = loaded.estimate.gain;
    part.half = half_of(loaded.position);
    parts.push_back(part);
  }
  return parts;
}

std::size_t FrameBatch::of_reference() const {
  std::size_t count = 0;
  while (count < count_ && frames_[count].position < candidates_.refined_count()) ++count;
  return count;
}

}  // namespace lull::stack
