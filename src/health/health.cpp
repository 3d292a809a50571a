#include "health/health.h"

#include <algorithm>

#include "core/parallel.h"
#include "core/statistics.h"
#include "health/steps.h"

namespace lull::health {

namespace {

using capture::Frame;

// So many samples at full scale in a frame are no accident of a hot pixel or two.
constexpr std::int64_t kFewestSaturated = 8;
constexpr double kSaturatedShare = 2e-5;  // of the frame, the same for large ones

constexpr int kBlocksOfInspection =
    2;  // at one distance: the first, second, third, fifth, seventh ...
constexpr double kFaintShare = 0.125;  // of the object's brightness: its faint parts

// The length of a capture is not known before its end, so the distance of the blocks that are
// looked at doubles on the way.
class SpreadBlocks {
 public:
  /// @param alike  distances of one length: 0, 1, 3, 7, 15, 31 ... with 1.
  explicit SpreadBlocks(int alike) : alike_(alike) {}

  [[nodiscard]] bool wants_next() {
    if (block_++ != next_) return false;
    next_ += distance_;
    if (++taken_ % alike_ == 0) distance_ *= 2;
    return true;
  }

 private:
  int alike_;
  std::int64_t block_ = 0;
  std::int64_t next_ = 0;
  std::int64_t distance_ = 1;
  std::int64_t taken_ = 0;
};

class Watcher final : public survey::SurveyWatcher {
 public:
  Watcher(const capture::CaptureInfo& info, Coverage coverage)
      : info_(info),
        coverage_(coverage),
        blocks_(coverage == Coverage::all ? kBlocksOfInspection : 1),
        levels_(info),
        transfer_(info),
        steps_(info),
        fields_(info),
        spectrum_(info) {}

  void see(const std::vector<Frame>& frames, const survey::Survey& so_far) override {
    const bool closely = blocks_.wants_next();
    if (!closely && coverage_ == Coverage::some_blocks) return;
    std::vector<const Frame*> good;
    std::vector<const Frame*> exposed;
    auto record = so_far.records.rbegin();
    for (auto frame = frames.rbegin(); frame != frames.rend(); ++frame) {
      while (record->index != frame->index) ++record;
      if (record->usable()) good.push_back(&*frame);
      if (record->usable() || record->reject == Reject::saturated) exposed.push_back(&*frame);
    }
    std::reverse(good.begin(), good.end());
    std::reverse(exposed.begin(), exposed.end());
    for (const std::int64_t samples : levels_.add(exposed)) {
      const auto needed = std::max(
          kFewestSaturated,
          static_cast<std::int64_t>(kSaturatedShare * static_cast<double>(info_.size.area_px())));
      saturated_frames_ += samples >= needed ? 1 : 0;
      ++exposed_frames_;
    }
    looked_at_ += static_cast<std::int64_t>(good.size());
    add_pairs(good);
    const auto centres = place(good, so_far.target);
    spectrum_.add(good, centres);
    if (!closely) return;
    steps_.add(good, centres);
    fields_.add(good, centres);
  }

  [[nodiscard]] const std::vector<double>& steps_px() const { return steps_.lengths_px(); }

  void finish(Health& out) const {
    out.frames_looked_at = looked_at_;
    finish_place(out);
    out.exposure = exposure_of(levels_, std::clamp(out.place.frame_share, 1e-5, 1.0));
    if (exposed_frames_ > 0) out.exposure.saturated_frames = saturated_frames_ / exposed_frames_;
    out.noise = transfer_.result();
    out.detail = spectrum_.result();
    out.interlace = fields_.result();
  }

 private:
  void add_pairs(const std::vector<const Frame*>& good) {
    std::vector<PhotonTransferCounts::Pair> pairs;
    for (std::size_t i = 1; i < good.size(); ++i) {
      if (good[i]->index == good[i - 1]->index + 1) pairs.push_back({good[i - 1], good[i]});
    }
    transfer_.add(pairs);
  }

  // Centres of the object in these frames.
  std::vector<Displacement> place(const std::vector<const Frame*>& good,
                                  const quality::Target& target) {
    std::vector<Displacement> centres(good.size(),
                                      {0.5 * info_.size.width_px, 0.5 * info_.size.height_px});
    disc_ = target.kind == quality::TargetKind::disc;
    if (disc_) {
      std::vector<ObjectSeen> seen(good.size());
      parallel_for(static_cast<std::int64_t>(good.size()), [&](std::int64_t n) {
        const auto i = static_cast<std::size_t>(n);
        seen[i] = see_object(*good[i], info_, target);
      });
      for (std::size_t i = 0; i < seen.size(); ++i) {
        if (seen[i].box.empty()) continue;
        centres[i] = {0.5 * (seen[i].box.x0 + seen[i].box.x1),
                      0.5 * (seen[i].box.y0 + seen[i].box.y1)};
        area_.push_back(static_cast<double>(seen[i].area_px));
        core_.push_back(static_cast<double>(seen[i].core_px));
        width_.push_back(seen[i].box.width_px());
        height_.push_back(seen[i].box.height_px());
        cut_ += seen[i].cut ? 1 : 0;
      }
    } else if (!edge_ && !good.empty()) {
      edge_ = see_edge(reduced_mean(good, info_).view());
    }
    return centres;
  }

  void finish_place(Health& out) const {
    if (!disc_) {
      out.place.kind = edge_ && edge_->limb ? Kind::limb : Kind::field;
      out.place.frame_share = edge_ ? edge_->object_share : 1;
      return;
    }
    const double area = quantile(area_, 0.5);
    out.place.kind = is_star(area, quantile(core_, 0.5)) ? Kind::star : Kind::disc;
    out.place.frame_share = area / static_cast<double>(info_.size.area_px());
    if (area_.empty()) return;
    out.place.extent =
        Size{static_cast<int>(quantile(width_, 0.5)), static_cast<int>(quantile(height_, 0.5))};
    out.place.cut_frames = cut_ / static_cast<double>(area_.size());
  }

  const capture::CaptureInfo& info_;
  Coverage coverage_;
  SpreadBlocks blocks_;
  std::int64_t looked_at_ = 0;
  LevelCounts levels_;
  PhotonTransferCounts transfer_;
  Steps steps_;
  FieldShifts fields_;
  DetailSpectrumSum spectrum_;
  double saturated_frames_ = 0;
  double exposed_frames_ = 0;
  bool disc_ = false;
  std::optional<EdgeSeen> edge_;
  std::vector<double> area_, core_, width_, height_;
  double cut_ = 0;
};

double faint_noise(const Health& health, const capture::CaptureInfo& info) {
  double lowest = 1;
  for (const auto& channel : health.exposure.channels) lowest = std::min(lowest, channel.lowest);
  const double level = lowest + kFaintShare * (health.exposure.brightest() - lowest);
  return health.noise->noise_at_adu(level * ((1 << info.bits.used) - 1));
}

// Gain and detail rest on white noise.
void judge_noise(Health& out, const capture::CaptureInfo& info) {
  if (out.noise) out.faint_noise_adu = faint_noise(out, info);
  const bool white = !out.noise || out.noise->white();
  // A star has no place that is flat: its gain would be wrong.
  if (out.noise && (!white || out.place.kind == Kind::star)) out.noise->gain_e_per_adu.reset();
  const bool rounded = out.faint_noise_adu < kRoundedNoiseAdu;
  if (!out.detail || (white && !(out.detail->to_the_end && rounded))) return;
  out.detail->noise_usable = false;
  out.detail->to_the_end = false;
  out.detail->limit.reset();
}

}  // namespace

Health examine(capture::FrameStore& frames, const HealthOptions& options,
               const Progress& progress) {
  Watcher watcher(frames.info(), options.coverage);
  Health out;
  survey::SurveyOptions survey{options.metric, {&watcher}};
  if (options.companion != nullptr) survey.watchers.push_back(options.companion);
  out.survey = survey::survey_capture(frames, survey, progress);
  out.samples = options.samples;
  out.pattern = options.pattern;
  watcher.finish(out);
  judge_noise(out, frames.info());
  out.timing = timing_of(out.survey.records, frames.info().times.later_begins_s);
  out.motion = motion_of(out.survey.records, watcher.steps_px(),
                         out.timing ? DriftUnit::px_per_s : DriftUnit::px_per_frame);
  out.trend = trend_of(out.survey.records);
  out.steadiness = steadiness_of(out.survey.records);
  return out;
}

}  // namespace lull::health
