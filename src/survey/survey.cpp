#include "survey/survey.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <future>

#include "core/parallel.h"
#include "core/statistics.h"
#include "quality/noise.h"
#include "quality/structure.h"
#include "survey/tracker.h"

namespace lull::survey {

namespace {

using capture::CaptureInfo;
using capture::Colour;
using capture::Frame;
using quality::CellMeasure;
using quality::FrameRecord;
using quality::Target;
using quality::TargetKind;

// How many frames stand in memory depends on their size alone: a tracker begins with the mean of
// the first block, so the result may not depend on --memory.
constexpr std::size_t kMostBlockFrames = 32;
constexpr std::size_t kFewestBlockFrames = 4;
constexpr std::size_t kBlockBytes = std::size_t{128} << 20U;  // once more for those being read
constexpr std::size_t kMostGroupFrames = 32;                  // measured at the same time
constexpr std::size_t kGroupPixels = std::size_t{128} << 20U;
constexpr int kReducedSidePx = 256;      // tracking needs no more
constexpr double kDarkShare = 0.25;      // of the usual brightness: the object is gone
constexpr int kCutRows = 4;              // that many more dead rows than usual: cut short
constexpr double kLargestDrift = 0.25;   // of the frame, then the tracker takes a new reference
constexpr double kSmoothedWhite = 0.25;  // cycles/px: the luminance of a mosaic is smoothed
constexpr double kSaturatedShare = 0.5;  // of the cells: nothing can be measured

quality::Metric suited_metric(TargetKind target) {
  return target == TargetKind::disc ? quality::Metric::coarse : quality::Metric::fine;
}

struct Block {
  std::vector<Frame> frames;
  std::vector<FrameIndex> damaged;
  bool last = false;
};

Block read_block(capture::FrameStore& store) {
  Block block;
  std::size_t length = kMostBlockFrames;
  for (std::size_t spent = 0; spent < length; ++spent) {
    Outcome<Frame> frame = store.next();
    if (frame.ok()) {
      const std::size_t bytes = std::max<std::size_t>(frame.value().bytes(), 1);
      length = std::clamp(kBlockBytes / bytes, kFewestBlockFrames, kMostBlockFrames);
      block.frames.push_back(std::move(frame).value());
    } else if (frame.reason() == Reject::past_the_end) {
      block.last = true;
      break;
    } else {
      block.damaged.push_back(store.tally().frames - 1);
    }
  }
  return block;
}

// What is found out about one frame on its own, in parallel.
struct Observation {
  CellMeasure cells;
  Plane reduced;  ///< light
  double brightness = 0;
  double noise = 0;  ///< light, of the pixels that the luminance came from
  int dead_rows = 0;
};

// For planes as large as the frame; as many as are measured at the same time.
struct Workspace {
  quality::LuminanceBuffer luminance;
  quality::MeasureWorkspace measure;
  std::vector<float> scratch;
};

class Surveyor {
 public:
  Surveyor(capture::FrameStore& store, const SurveyOptions& options, const Progress& progress)
      : store_(store), options_(options), progress_(progress) {}

  Survey run() {
    std::future<Block> coming =
        std::async(std::launch::async, [this] { return read_block(store_); });
    for (bool last = false; !last;) {
      const Block block = coming.get();
      last = block.last;
      if (!last) coming = std::async(std::launch::async, [this] { return read_block(store_); });
      try {
        process(block);
      } catch (...) {
        if (!last) coming.wait();  // the reader still uses the store
        throw;
      }
      const auto spent = static_cast<std::int64_t>(result_.records.size());
      progress_.step("ranking", spent, std::max(spent, store_.info().header_frames));
    }
    if (!tracker_) {
      throw NothingUsable(fmt::format(
          "{}: no frame could be decoded. The file may be damaged or still being written.",
          store_.info().path));
    }
    return std::move(result_);
  }

 private:
  void process(const Block& block) {
    observations_.resize(block.frames.size());
    if (block.frames.empty()) {
      add_damaged(block);
      return;
    }
    tracking_.resize(std::max(tracking_.size(), block.frames.size()));
    if (!tracker_) get_ready(block);
    for_frames(block, [&](std::size_t i, Workspace& work) { observe(block.frames[i], i, work); });
    if (!tracker_->has_reference()) first_reference(block);
    auto positions = locate(block);
    if (!averaged_) {  // the frames of the first block tell what they have in common
      improve_reference(positions);
      positions = locate(block);
    }
    for (std::size_t i = 0; i < block.frames.size(); ++i)
      add_record(block.frames[i], i, positions[i]);
    add_damaged(block);
    improve_reference(positions);
    for (SurveyWatcher* watcher : options_.watchers) watcher->see(block.frames, result_);
  }

  // Calls body(index in the block, workspace) for every frame, in parallel groups: memory for
  // workspaces is bounded, and since frames do not know of each other here, nothing else changes.
  template <class Body>
  void for_frames(const Block& block, const Body& body) {
    const auto area = static_cast<std::size_t>(block.frames[0].size().area_px());
    const std::size_t group =
        std::clamp<std::size_t>(kGroupPixels / std::max<std::size_t>(area, 1), 1, kMostGroupFrames);
    const std::size_t count = block.frames.size();
    workspaces_.resize(std::max(workspaces_.size(), std::min(group, count)));
    for (std::size_t first = 0; first < count; first += group) {
      parallel_for(static_cast<std::int64_t>(std::min(group, count - first)), [&](std::int64_t n) {
        const auto i = static_cast<std::size_t>(n);
        body(first + i, workspaces_[i]);
      });
    }
  }

  std::vector<Outcome<Tracker::Position>> locate(const Block& block) {
    std::vector<Outcome<Tracker::Position>> positions(
        block.frames.size(), Outcome<Tracker::Position>(Reject::lost_target));
    parallel_for(static_cast<std::int64_t>(block.frames.size()), [&](std::int64_t n) {
      const auto i = static_cast<std::size_t>(n);
      if (present(i))
        positions[i] = tracker_->locate(observations_[i].reduced.view(), tracking_[i]);
    });
    return positions;
  }

  // Decides from the first frames what the target is, and so what to measure and how to follow.
  void get_ready(const Block& block) {
    const Size size = block.frames[0].size();
    if (std::min(size.width_px, size.height_px) < 2 * quality::kCellPx) {
      throw NothingUsable(
          fmt::format("{}: frames of {} x {} px are too small to rank and register; at least {} px "
                      "a side are needed",
                      store_.info().path, size.width_px, size.height_px, 2 * quality::kCellPx));
    }
    reduction_ = std::max(size.width_px, size.height_px) > 2 * kReducedSidePx ? 4 : 2;
    while (std::max(size.width_px, size.height_px) / reduction_ > kReducedSidePx) reduction_ *= 2;
    result_.reduction = reduction_;
    std::vector<Plane> reduced(block.frames.size());
    for_frames(block, [&](std::size_t i, Workspace& work) {
      const quality::Luminance light =
          quality::luminance(block.frames[i], store_.info(), work.luminance);
      quality::halve(light.view, work.measure.half);
      quality::quarter(work.measure.half, work.measure.quarter);
      reduced[i] = reduce(light, work);
    });
    std::vector<PlaneView> views;
    views.reserve(reduced.size());
    for (const Plane& plane : reduced) views.push_back(plane.view());
    result_.target = quality::recognise_target(views);
    result_.metric = options_.metric.value_or(suited_metric(result_.target.kind));
    const bool smoothed = store_.info().colour == Colour::cfa;
    noise_gain_ = quality::noise_gain(result_.metric, smoothed);
    tracker_.emplace(views[0].size(), result_.target, smoothed ? kSmoothedWhite : 0.5);
  }

  // The reduced frame in light. halve() and quarter() of the frame must be in the workspace.
  Plane reduce(const quality::Luminance& light, Workspace& work) const {
    Plane plane;
    if (reduction_ == 2) {
      quality::to_plane(work.measure.half, plane);
    } else {
      plane = Plane::copy_of(work.measure.quarter.view());
    }
    for (int factor = 4; factor < reduction_; factor *= 2) {
      Plane smaller;
      quality::halve(plane.view(), smaller);
      plane = std::move(smaller);
    }
    const auto black = static_cast<float>(light.scale.black);
    const auto per_unit = static_cast<float>(light.scale.per_unit);
    const float share = 1.0F / static_cast<float>(reduction_ * reduction_);
    for (int y = 0; y < plane.height(); ++y) {
      float* row = plane.row(y);
      for (int x = 0; x < plane.width(); ++x) row[x] = (row[x] * share - black) * per_unit;
    }
    return plane;
  }

  void observe(const Frame& frame, std::size_t i, Workspace& work) {
    Observation& out = observations_[i];
    const CaptureInfo& info = store_.info();
    const quality::Luminance light = quality::luminance(frame, info, work.luminance);
    out.cells = quality::measure(light, result_.metric, work.measure);
    out.reduced = reduce(light, work);
    out.brightness = quality::object_brightness(out.reduced.view(), result_.target, work.scratch);
    const bool cfa = info.colour == Colour::cfa;
    const double object_stored = result_.target.object / info.scale.per_unit + info.scale.black;
    const bool disc = result_.target.kind == TargetKind::disc;
    out.noise = info.scale.per_unit *
                quality::noise_sigma(frame.planes[info.colour == Colour::rgb ? 1 : 0], cfa ? 2 : 1,
                                     disc ? object_stored : 0.0, work.scratch);
    // Cells in light from here on.
    const auto per_unit = static_cast<float>(light.scale.per_unit);
    for (float& value : out.cells.energy.values()) value *= per_unit * per_unit;
    for (float& value : out.cells.mean.values())
      value = static_cast<float>(light.scale.to_light(static_cast<double>(value)));
    out.dead_rows = frame.dead_rows ? *frame.dead_rows : capture::dead_rows(frame.planes[0]);
  }

  [[nodiscard]] bool present(std::size_t i) const {
    return observations_[i].brightness > kDarkShare * usual_brightness_;
  }

  void first_reference(const Block& block) {
    std::vector<double> brightness;
    std::vector<double> rows;
    for (const Observation& seen : observations_) {
      brightness.push_back(seen.brightness);
      rows.push_back(seen.dead_rows);
    }
    usual_brightness_ = median(std::move(brightness));
    usual_dead_rows_ = median(std::move(rows));
    std::size_t best = 0;
    double best_sharpness = -1;
    for (std::size_t i = 0; i < block.frames.size(); ++i) {
      const double sharpness = cut_short(i) || !present(i) ? -1 : sharpness_of(i);
      if (sharpness > best_sharpness) {
        best = i;
        best_sharpness = sharpness;
      }
    }
    tracker_->set_reference(observations_[best].reduced.view(), {}, tracking_[best]);
  }

  // Rows of even sky look dead too: what counts is that the object ends where the rows do.
  [[nodiscard]] bool cut_short(std::size_t i) const {
    const Observation& seen = observations_[i];
    if (seen.dead_rows <= usual_dead_rows_ + kCutRows) return false;
    if (result_.target.kind == TargetKind::surface) return true;
    const int last_live = store_.info().size.height_px - seen.dead_rows - 1;
    const PlaneView reduced = seen.reduced.view();
    const auto object = static_cast<float>(result_.target.object);
    const int from = std::clamp(last_live / reduction_ - 1, 0, reduced.height_px - 1);
    const int to = std::clamp(last_live / reduction_, 0, reduced.height_px - 1);
    for (int y = from; y <= to; ++y) {
      const float* row = reduced.row(y);
      if (std::any_of(row, row + reduced.width_px, [object](float v) { return v >= object; }))
        return true;
    }
    return false;
  }

  [[nodiscard]] double sharpness_of(std::size_t i) const {
    const Observation& seen = observations_[i];
    return quality::frame_sharpness(seen.cells, noise_gain_ * seen.noise * seen.noise,
                                    seen.brightness, result_.target.object);
  }

  // Frames of noise are few among the usable ones, since there is nothing to follow.
  void look_for_object(std::size_t i, const FrameRecord& record) {
    if (!record.usable() && record.reject != Reject::weak_peak) return;
    ++result_.measured;
    const bool disc = result_.target.kind == TargetKind::disc;
    const Observation& seen = observations_[i];
    if (disc || quality::shows_structure(seen.reduced.view(), reduction_, seen.noise))
      ++result_.structured;
  }

  void add_record(const Frame& frame, std::size_t i, const Outcome<Tracker::Position>& position) {
    const Observation& seen = observations_[i];
    FrameRecord record;
    record.index = frame.index;
    record.time_s = frame.time_s;
    record.brightness = seen.brightness;
    record.noise = seen.noise;
    record.saturated_share = quality::saturated_share(seen.cells);
    record.sharpness = sharpness_of(i);
    if (position.ok()) {
      const double factor = reduction_;
      record.offset = {factor * position.value().offset.x_px,
                       factor * position.value().offset.y_px};
    } else {
      record.reject = position.reason();
    }
    if (!present(i)) record.reject = Reject::black;
    if (record.saturated_share > kSaturatedShare) record.reject = Reject::saturated;
    if (cut_short(i)) record.reject = Reject::damaged;
    if (seen.cells.energy.values() == previous_energy_ &&
        seen.cells.mean.values() == previous_mean_) {
      record.reject = Reject::doubled;
    }
    previous_energy_ = seen.cells.energy.values();
    previous_mean_ = seen.cells.mean.values();
    look_for_object(i, record);
    result_.records.push_back(record);
  }

  void add_damaged(const Block& block) {
    for (const FrameIndex index : block.damaged) {
      FrameRecord record;
      record.index = index;
      record.reject = Reject::damaged;
      result_.records.push_back(record);
    }
    std::sort(result_.records.end() -
                  static_cast<std::ptrdiff_t>(block.damaged.size() + block.frames.size()),
              result_.records.end(),
              [](const FrameRecord& a, const FrameRecord& b) { return a.index < b.index; });
  }

  // The first block's mean replaces its one frame; later, a surface that drifted far is followed
  // from a frame of the block at hand.
  void improve_reference(const std::vector<Outcome<Tracker::Position>>& positions) {
    std::vector<PlaneView> planes;
    std::vector<Tracker::Position> at;
    std::size_t latest = 0;
    for (std::size_t i = 0; i < positions.size(); ++i) {
      if (!positions[i].ok() || cut_short(i)) continue;
      planes.push_back(observations_[i].reduced.view());
      at.push_back(positions[i].value());
      latest = i;
    }
    if (planes.empty()) return;
    if (!averaged_) {
      tracker_->average_reference(planes, at, tracking_[0]);
      averaged_ = true;
    }
    if (result_.target.kind == TargetKind::disc) return;
    const FrameOffset drift = at.back().offset - tracker_->reference_at();
    const PlaneView newest = planes.back();
    if (std::abs(drift.x_px) > kLargestDrift * newest.width_px ||
        std::abs(drift.y_px) > kLargestDrift * newest.height_px) {
      tracker_->set_reference(newest, at.back().offset, tracking_[latest]);
    }
  }

  capture::FrameStore& store_;
  const SurveyOptions& options_;
  const Progress& progress_;
  Survey result_;
  std::optional<Tracker> tracker_;
  bool averaged_ = false;
  int reduction_ = 1;
  double noise_gain_ = 0;
  double usual_brightness_ = 0;
  double usual_dead_rows_ = 0;
  std::vector<Observation> observations_;
  std::vector<Workspace> workspaces_;
  std::vector<Tracker::Workspace> tracking_;  ///< one for each frame of the block
  std::vector<float> previous_energy_;
  std::vector<float> previous_mean_;
};

}  // namespace

std::int64_t Survey::count(Reject reason) const {
  return std::count_if(records.begin(), records.end(),
                       [&](const FrameRecord& r) { return r.reject == reason; });
}

std::int64_t Survey::usable() const {
  return std::count_if(records.begin(), records.end(),
                       [](const FrameRecord& r) { return r.usable(); });
}

Survey survey_capture(capture::FrameStore& frames, const SurveyOptions& options,
                      const Progress& progress) {
  return Surveyor(frames, options, progress).run();
}

}  // namespace lull::survey
