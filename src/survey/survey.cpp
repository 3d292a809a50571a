#include "survey/survey.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <deque>
#include <future>

#include "core/beside.h"
#include "core/parallel.h"
#include "core/statistics.h"
#include "survey/frame_block.h"
#include "survey/observer.h"
#include "survey/outlier_cells.h"
#include "survey/tracker.h"

namespace lull::survey {

namespace {

using capture::Frame;
using quality::FrameRecord;
using quality::TargetKind;

constexpr double kDarkShare = 0.25;      // of the median brightness: the object is gone
constexpr double kLargestDrift = 0.25;   // of the frame, then the tracker takes a new reference
constexpr double kSmoothedWhite = 0.25;  // cycles/px: the luminance of a mosaic is smoothed
constexpr double kSaturatedShare = 0.5;  // of the cells: nothing can be measured
constexpr std::size_t kTestEvery = 16;   // frames: how it is turned
constexpr double kFollowedTurn = 0.02;   // radians: the tracker hardly suffers

class Surveyor {
 public:
  Surveyor(capture::FrameStore& store, const SurveyOptions& options, const Progress& progress)
      : store_(store), options_(options), progress_(progress) {}

  Survey run() {
    const auto read = [this] { return read_block(store_); };
    std::future<FrameBlock> coming = run_beside(read);
    for (bool last = false; !last;) {
      const FrameBlock block = coming.get();
      last = block.last;
      if (!last) coming = run_beside(read);
      process(block);
      const auto spent = static_cast<std::int64_t>(result_.records.size());
      const std::int64_t expected = store_.info().storage.likely_frames;
      progress_.step("ranking", spent, spent <= expected ? expected : 0);
    }
    if (!tracker_) {
      throw NothingUsable(fmt::format(
          "{}: no frame could be decoded. The file may be damaged or still being written.",
          store_.info().path));
    }
    settle_sharpness();
    result_.orientation = orientation_of(turn_tests_, result_.records.back().index);
    if (!result_.orientation.changes()) {
      result_.field_turn = rotation_.result(result_.reduction, result_.records.front().index,
                                            result_.records.back().index);
    }
    return std::move(result_);
  }

 private:
  void process(const FrameBlock& block) {
    if (block.frames.empty()) {
      add_damaged(block);
      return;
    }
    tracking_.resize(std::max(tracking_.size(), block.frames.size()));
    if (!tracker_) begin(block);
    observer_->observe(block.frames, observations_);
    if (!tracker_->has_reference()) first_reference(block);
    auto positions = locate(block);
    if (!averaged_) {  // now with the mean of the frames of the first block
      improve_reference(block, positions);
      positions = locate(block);
    }
    measure_energies(block, positions);
    test_turns(block, positions);
    for (std::size_t i = 0; i < block.frames.size(); ++i)
      add_record(block.frames[i], i, positions[i]);
    add_damaged(block);
    improve_reference(block, positions);
    for (SurveyWatcher* watcher : options_.watchers) watcher->see(block.frames, result_);
  }

  // What outliers are is decided in order, and then holds for all frames of the block.
  void measure_energies(const FrameBlock& block,
                        const std::vector<Outcome<FrameOffset>>& positions) {
    for (std::size_t m = 0; m < outlier_cells_.size(); ++m) {
      for (std::size_t i = 0; i < block.frames.size(); ++i) {
        if (positions[i].ok())
          outlier_cells_[m].see(observations_[i].energies[m], in_pixels(positions[i].value()));
      }
      outlier_cells_[m].settle();
    }
    for (std::size_t i = 0; i < block.frames.size(); ++i) {
      Observation& seen = observations_[i];
      for (std::size_t m = 0; m < seen.energies.size() && positions[i].ok(); ++m) {
        seen.energies[m] =
            outlier_cells_[m].repaired(seen.energies[m], in_pixels(positions[i].value()));
      }
      energies_.push_back({block.frames[i].index, observer_->energies(seen)});
    }
  }

  void begin(const FrameBlock& block) {
    const capture::CaptureInfo& info = store_.info();
    observer_.emplace(info, block.frames, options_.metric);
    result_.target = observer_->target();
    result_.metric = observer_->metric();
    outlier_cells_.resize(observer_->metrics().size());
    result_.reduction = observer_->reduction();
    tracker_.emplace(observer_->reduced_size(), result_.target,
                     info.colour == capture::Colour::cfa ? kSmoothedWhite : 0.5);
  }

  std::vector<Outcome<FrameOffset>> locate(const FrameBlock& block) {
    std::vector<Outcome<FrameOffset>> positions(block.frames.size(),
                                                Outcome<FrameOffset>(Reject::lost_target));
    parallel_for(static_cast<std::int64_t>(block.frames.size()), [&](std::int64_t n) {
      const auto i = static_cast<std::size_t>(n);
      if (present(i))
        positions[i] = tracker_->locate(observations_[i].reduced.view(), tracking_[i]);
    });
    return positions;
  }

  // A few frames of each block, and those that do not match as they are.
  void test_turns(const FrameBlock& block, const std::vector<Outcome<FrameOffset>>& positions) {
    std::vector<std::size_t> tested;
    for (std::size_t i = 0; i < block.frames.size(); ++i) {
      const bool lost = !positions[i].ok() && positions[i].reason() == Reject::weak_peak;
      if (present(i) && !cut_short(i) && (i % kTestEvery == 0 || lost)) tested.push_back(i);
    }
    const std::size_t before = turn_tests_.size();
    turn_tests_.resize(before + tested.size());
    parallel_for(static_cast<std::int64_t>(tested.size()), [&](std::int64_t n) {
      const std::size_t i = tested[static_cast<std::size_t>(n)];
      turn_tests_[before + static_cast<std::size_t>(n)] = {
          block.frames[i].index, tracker_->peaks(observations_[i].reduced.view(), tracking_[i])};
    });
  }

  [[nodiscard]] FrameOffset in_pixels(const FrameOffset& position) const {
    const double factor = result_.reduction;
    return {factor * position.x_px, factor * position.y_px};
  }

  [[nodiscard]] bool present(std::size_t i) const {
    return observations_[i].brightness > kDarkShare * median_brightness_;
  }

  [[nodiscard]] bool cut_short(std::size_t i) const {
    return observer_->cut_short(observations_[i], median_dead_rows_);
  }

  void first_reference(const FrameBlock& block) {
    std::vector<double> brightness;
    std::vector<double> rows;
    for (const Observation& seen : observations_) {
      brightness.push_back(seen.brightness);
      rows.push_back(seen.dead_rows);
    }
    median_brightness_ = median(std::move(brightness));
    median_dead_rows_ = median(std::move(rows));
    std::size_t best = 0;
    double best_sharpness = -1;
    for (std::size_t i = 0; i < block.frames.size(); ++i) {
      const double sharpness =
          cut_short(i) || !present(i) ? -1 : observer_->sharpness(observations_[i]);
      if (sharpness > best_sharpness) {
        best = i;
        best_sharpness = sharpness;
      }
    }
    tracker_->set_reference(observations_[best].reduced.view(), {}, tracking_[best]);
  }

  // Frames of noise are few among the usable ones, since there is nothing to follow.
  void look_for_object(std::size_t i, const FrameRecord& record) {
    if (!record.usable() && record.reject != Reject::weak_peak) return;
    ++result_.measured;
    if (observations_[i].shows_object) ++result_.structured;
  }

  void add_record(const Frame& frame, std::size_t i, const Outcome<FrameOffset>& position) {
    const Observation& seen = observations_[i];
    FrameRecord record;
    record.index = frame.index;
    record.time_s = frame.time_s;
    record.brightness = seen.brightness;
    record.noise = seen.noise;
    record.saturated_share = quality::saturated_share(seen.cells);
    if (position.ok()) {
      record.offset = in_pixels(position.value());
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

  // The noise of the frames around, and how well each measure follows sharpness, are known at the
  // end only.
  void settle_sharpness() {
    const std::vector<double> noise = quality::usual_noise(result_.records);
    auto measured = energies_.begin();  // damaged frames are none of these
    std::vector<const quality::FrameEnergies*> usable;
    for (std::size_t i = 0; i < noise.size(); ++i) {
      FrameRecord& record = result_.records[i];
      record.usual_noise = noise[i];
      if (measured == energies_.end() || measured->index != record.index) continue;
      measured->energies.noise = noise[i];
      if (record.usable() && !options_.metric) usable.push_back(&measured->energies);
      ++measured;
    }
    if (options_.metric) {
      const double gain = observer_->noise_gain();
      set_sharpness([gain](const quality::FrameEnergies& frame) {
        return frame.total.front() - frame.of_noise(gain);
      });
    } else {
      const quality::CombinedSharpness combined(usable, gains(), result_.metric);
      set_sharpness(combined);
      result_.shares = combined.shares();
    }
  }

  template <class Sharpness>
  void set_sharpness(const Sharpness& sharpness) {
    auto measured = energies_.begin();
    for (FrameRecord& record : result_.records) {
      if (measured == energies_.end() || measured->index != record.index) continue;
      record.sharpness = sharpness(measured->energies);
      ++measured;
    }
  }

  [[nodiscard]] quality::CombinedSharpness::Gains gains() const {
    quality::CombinedSharpness::Gains out{};
    for (std::size_t i = 0; i < out.size(); ++i)
      out[i] = quality::noise_gain(quality::kCombined[i], store_.info().colour);
    return out;
  }

  void add_damaged(const FrameBlock& block) {
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
  void improve_reference(const FrameBlock& block,
                         const std::vector<Outcome<FrameOffset>>& positions) {
    std::vector<PlaneView> planes;
    std::vector<FrameOffset> at;
    std::vector<FrameIndex> indices;
    std::size_t latest = 0;
    for (std::size_t i = 0; i < positions.size(); ++i) {
      if (!positions[i].ok() || cut_short(i)) continue;
      planes.push_back(observations_[i].reduced.view());
      at.push_back(positions[i].value());
      indices.push_back(block.frames[i].index);
      latest = i;
    }
    if (planes.empty()) return;
    if (averaged_) follow_turn(planes, at, indices);
    if (!averaged_) {
      tracker_->average_reference(planes, at, tracking_[0]);
      averaged_ = true;
    }
    if (result_.target.kind == TargetKind::disc) return;
    const FrameOffset drift = at.back() - tracker_->reference_at();
    const PlaneView newest = planes.back();
    const bool far = std::abs(drift.x_px) > kLargestDrift * newest.width_px ||
                     std::abs(drift.y_px) > kLargestDrift * newest.height_px;
    // A turned frame matches by chance, anywhere.
    if (far && best_turn(tracker_->peaks(newest, tracking_[latest])) == Turn::none)
      tracker_->set_reference(newest, at.back(), tracking_[latest]);
  }

  // Where the field has certainly turned since the tracker's reference, the block at hand becomes
  // that.
  void follow_turn(const std::vector<PlaneView>& planes, const std::vector<FrameOffset>& at,
                   const std::vector<FrameIndex>& indices) {
    const std::optional<FieldRotation::Turned> turned = rotation_.see(planes, at, indices);
    if (!turned || !rotation_.certain_range(result_.reduction)) return;
    if (std::abs(turned->angle - reference_turn_) < kFollowedTurn) return;
    std::vector<FrameOffset> places;
    places.reserve(at.size());
    for (const FrameOffset& place : at)
      places.push_back(place + FrameOffset{turned->shift.x_px, turned->shift.y_px});
    tracker_->average_reference(planes, places, tracking_[0]);
    reference_turn_ = turned->angle;
  }

  struct Measured {
    FrameIndex index = 0;
    quality::FrameEnergies energies;
  };

  capture::FrameStore& store_;
  const SurveyOptions& options_;
  const Progress& progress_;
  Survey result_;
  std::optional<Observer> observer_;
  std::optional<Tracker> tracker_;
  std::vector<OutlierCells> outlier_cells_;  ///< one for each measure
  bool averaged_ = false;                    ///< the tracker's reference
  double median_brightness_ = 0;
  double median_dead_rows_ = 0;
  std::vector<Observation> observations_;
  std::vector<Tracker::Workspace> tracking_;  ///< one for each frame of the block
  std::vector<TurnTest> turn_tests_;
  FieldRotation rotation_;
  double reference_turn_ = 0;      ///< radians, of the field in the tracker's reference
  std::deque<Measured> energies_;  // grows without a copy
  std::vector<float> previous_energy_;
  std::vector<float> previous_mean_;
};

}  // namespace

std::string Survey::ranked_by() const {
  return shares ? quality::shares_text(*shares) : std::string(quality::metric_name(metric));
}

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
