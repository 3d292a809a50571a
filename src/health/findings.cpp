#include "health/findings.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "core/words.h"

namespace lull::health {

namespace {

// Bounds are common practice, no source, unless one is named.
constexpr double kSaturatedFrames = 0.02;
constexpr double kDim = 0.3;         // of full scale
constexpr double kZeroShare = 0.01;  // of the samples of a colour
constexpr double kSkippedLevels = 0.2;
constexpr double kCutFrames = 0.02;
constexpr double kGoneFrames = 0.01;
constexpr double kWanderShare = 0.3;  // of the frame's side
constexpr double kDriftShare = 0.1;   // of the frame's side, by the drift alone
constexpr double kJitterPx = 4;       // a frame
constexpr double kTrend = 0.15;
constexpr std::int64_t kFewFrames = 500;
constexpr double kSmallShare = 0.04;  // of the frame
constexpr double kCritical = 2;       // px in lambda / D: Nyquist's condition on D / lambda
constexpr double kPlenty = 4.5;       // px in lambda / D
constexpr double kPattern = 0.2;      // of the noise in the faint parts: lines show from there on
constexpr double kUneven = 0.3;       // of the interval
constexpr double kLightSpread = 0.3;  // relative
constexpr double kMostCopied = 0.4;   // of the frames: from there on, each is stored some times

// Codecs of libav without a lossless mode.
constexpr std::array<std::string_view, 16> kLossy = {
    "mjpeg", "mpeg4",   "mpeg1video", "mpeg2video", "vp8",       "theora",    "wmv1", "wmv2",
    "wmv3",  "dvvideo", "prores",     "h263",       "msmpeg4v2", "msmpeg4v3", "flv1", "cinepak"};

std::string frames_are(std::int64_t frames) {
  return fmt::format("{} {}", counted(frames, "frame"), frames == 1 ? "is" : "are");
}

class Finder {
 public:
  Finder(const capture::CaptureInfo& info, const Health& health,
         const std::optional<Optics>& optics)
      : info_(info), health_(health), optics_(optics) {}

  std::vector<Finding> run() {
    if (total() == 0) return {};
    usable();
    if (health_.survey.usable() > 0 && health_.detail && health_.detail->noise_usable &&
        !health_.detail->limit) {
      add("no_detail", "the frames show nothing above their noise",
          "check focus, exposure and pointing, unless this is a dark or a flat");
      return std::move(out_);
    }
    exposure();
    samples();
    lost_frames();
    turned_frames();
    turning_field();
    framing();
    motion();
    steadiness();
    trend();
    sampling();
    amount();
    return std::move(out_);
  }

 private:
  void add(std::string name, std::string what, std::string next) {
    out_.push_back({std::move(name), std::move(what), std::move(next)});
  }

  [[nodiscard]] double total() const { return static_cast<double>(health_.survey.records.size()); }

  [[nodiscard]] double share(std::int64_t count) const {
    return static_cast<double>(count) / total();
  }

  [[nodiscard]] std::string brightest_part() const {
    switch (health_.place.kind) {
      case Kind::disc:
        return "the brightest part of the disc";
      case Kind::star:
        return "the star's core in the steadiest frames";
      default:
        return "the brightest ground";
    }
  }

  // The figures of turned frames are those of other places of the object.
  [[nodiscard]] bool turned() const { return !health_.survey.orientation.turned.empty(); }

  void usable() {
    if (health_.survey.usable() > 0) return;
    add("nothing_usable", "no frame can be ranked or stacked",
        "check the focus, the exposure and that the object is in the frame");
  }

  void exposure() {
    const Exposure& levels = health_.exposure;
    if (levels.saturated_frames > kSaturatedFrames) {
      add("saturated",
          fmt::format("{:.0f}% of the frames reach full scale, {:.{}f}% of all samples",
                      100 * levels.saturated_frames, 100 * levels.saturated(),
                      levels.saturated() < 0.01 ? 3 : 0),
          fmt::format("shorten the exposure or lower the gain until {} stays under {:.0f}%",
                      brightest_part(), 100 * kAimUnder));
    } else if (health_.survey.usable() > 0 && levels.brightest() < kDim) {
      add("dim",
          fmt::format("the brightest samples reach only {:.0f}% of full scale",
                      100 * levels.brightest()),
          "expose longer as long as frames stay sharp, then raise the gain");
    }
    if (health_.samples == Samples::calibrated) return;
    if (levels.at_zero() > kZeroShare) {
      add("clipped_black",
          fmt::format("{:.1f}% of the samples are cut off at level 0", 100 * levels.at_zero()),
          "raise the camera's offset until the darkest parts are some levels above 0");
    }
  }

  void samples() {
    if (std::find(kLossy.begin(), kLossy.end(), info_.storage.codec) != kLossy.end()) {
      add("lossy", fmt::format("the codec, {}, discards fine detail", info_.storage.codec),
          "record uncompressed, or with a lossless codec");
    }
    const bool interlaced = health_.interlace && is_interlaced(*health_.interlace);
    if (interlaced) {
      add("interlaced",
          fmt::format(
              "odd rows lie {:.1f} px beside even ones: they show another moment, and edges "
              "have teeth",
              health_.interlace->shift_px),
          "record whole frames (progressive), not interlaced ones");
    }
    if (health_.samples == Samples::calibrated) return;
    if (health_.exposure.skipped() > kSkippedLevels) {
      add("skipped_levels",
          fmt::format("{:.1f}% of the levels in use never occur, as after a stretch",
                      100 * health_.exposure.skipped()),
          "set gamma, contrast, brightness and digital gain of the camera to neutral");
    }
    if (!health_.noise) return;
    const double faint = health_.faint_noise_adu;
    if (faint > 0 && faint < kRoundedNoiseAdu) {
      add("coarse_levels",
          fmt::format("the noise of the object's faint parts is {:.2f} of a level, too little to "
                      "hide the steps between levels",
                      faint),
          info_.bits.used > 8 ? "raise the gain"
                              : "record with more bits (12 or 16), or raise the gain");
    }
    pattern();
    if (!health_.noise->white() && !interlaced) {  // rows of two moments differ in detail, too
      add("smoothed_noise",
          "changes from frame to frame are correlated between neighbouring pixels: noise after a "
          "filter, a codec or a scaler, or detail finer than the pixels",
          "record raw samples without loss, noise reduction off; if they were raw, use an "
          "extender");
    }
  }

  void pattern() {
    if (!health_.pattern || !health_.pattern->significant) return;
    const bool columns = health_.pattern->columns_adu > health_.pattern->rows_adu;
    const double adu = std::max(health_.pattern->columns_adu, health_.pattern->rows_adu);
    if (adu < kPattern * health_.faint_noise_adu) return;
    add("pattern_noise",
        fmt::format("the {} of the sensor differ by {:.2g} levels, the same in every frame",
                    columns ? "columns" : "rows", adu),
        "record a dark with every set of captures, and give it with --dark");
  }

  void turned_frames() {
    const std::string text = survey::text_of(health_.survey.orientation);
    if (text.empty()) return;
    add("turned", text,
        "let the mount change sides, and set mirrors, between two recordings; stack turns the "
        "frames back");
  }

  void turning_field() {
    const survey::FieldTurn& turn = health_.survey.field_turn;
    if (!survey::is_far(turn)) return;
    add("field_turns", survey::field_turn_text(turn),
        survey::advice_on(turn, static_cast<std::int64_t>(health_.survey.records.size())));
  }

  void lost_frames() {
    const std::int64_t damaged = health_.survey.count(Reject::damaged);
    const std::int64_t doubled = health_.survey.count(Reject::doubled);
    if (damaged > 0) {
      add("damaged", fmt::format("{} damaged or cut short", frames_are(damaged)),
          "try another cable or port, a smaller region of the sensor or a slower frame rate");
    }
    if (share(doubled) > kMostCopied) {
      add("doubled",
          fmt::format(
              "{} the same as the one before: each picture is stored {:.1f} times on average",
              frames_are(doubled), 1 / (1 - share(doubled))),
          "set the frame rate of the recording to that of the camera; copies add nothing");
    } else if (doubled > 0) {
      add("doubled", fmt::format("{} the same as the one before", frames_are(doubled)),
          "lower the frame rate to what camera and disk keep up with");
    }
    if (!health_.timing) return;
    const Timing& timing = *health_.timing;
    if (timing.gaps > 0) {
      add("dropped",
          fmt::format("{} missing by {} in the time stamps, the longest {:.3g} s",
                      frames_are(timing.missing_frames), counted(timing.gaps, "gap"),
                      timing.longest_gap_s),
          "use a faster disk, a smaller region of the sensor, or a slower frame rate");
    }
    if (timing.backwards) {
      add("time_backwards", "some time stamps are not later than the ones before",
          "check the clock of the recording computer; it must not be set during a recording");
    }
    if (!timing.too_coarse && timing.unevenness > kUneven) {
      add("uneven",
          fmt::format("the time between frames varies by {:.0f}%", 100 * timing.unevenness),
          "close other programs while recording, and lower the frame rate a little");
    }
  }

  void framing() {
    const std::int64_t gone =
        health_.survey.count(Reject::lost_target) + health_.survey.count(Reject::black);
    if (share(gone) > kGoneFrames || (gone > 0 && share(gone) >= 1)) {
      add("gone", fmt::format("{} without the object", frames_are(gone)),
          "watch the framing while recording, and stop for clouds");
    } else if (gone > 0) {
      add("gone", fmt::format("{} without the object", frames_are(gone)),
          "check cable and disk: single empty frames are often lost transfers");
    }
    if (health_.place.cut_frames > kCutFrames) {
      add("cut",
          fmt::format("the frame's edge cuts the object in {:.0f}% of the frames",
                      100 * health_.place.cut_frames),
          "keep the object in the centre, or record a larger region of the sensor");
    }
    if (health_.place.kind != Kind::disc || health_.place.frame_share > kSmallShare ||
        health_.survey.usable() == 0)
      return;
    add("small",
        fmt::format("the disc covers only {:.1f}% of the frame", 100 * health_.place.frame_share),
        "record a smaller region around it, for more frames a second");
  }

  void motion() {
    if (!health_.motion) return;
    const Motion& motion = *health_.motion;
    const double side = std::min(info_.size.width_px, info_.size.height_px);
    const double length =
        motion.unit == DriftUnit::px_per_s && health_.timing ? health_.timing->duration_s : total();
    const bool drifts = motion.x.significant() || motion.y.significant();
    const double drifted = motion.drift() * length;
    if (drifts && drifted > kDriftShare * side) {
      add("drift",
          fmt::format("the object drifts by {:.0f} px in the capture, {:.2g} px {}", drifted,
                      motion.drift(), motion.unit == DriftUnit::px_per_s ? "a second" : "a frame"),
          "align the mount better, check its rate, or guide");
    } else if (motion.range.x_px > kWanderShare * info_.size.width_px ||
               motion.range.y_px > kWanderShare * info_.size.height_px) {
      add("wander",
          fmt::format("the object wanders over {:.0f} x {:.0f} px", motion.range.x_px,
                      motion.range.y_px),
          "shelter the telescope from wind, tighten the mount, or record a larger region");
    }
    if (motion.tracked_step_px < kStillPx && health_.trend && health_.place.kind != Kind::disc &&
        health_.samples == Samples::recorded) {
      add("stands_still",
          fmt::format("tracking moves by only {:.2f} px a frame, less than the air moves any "
                      "object: dust or other marks on the sensor are probably followed",
                      motion.tracked_step_px),
          "record a flat with every set of captures, and give it with --flat");
    }
    if (motion.jitter_px && *motion.jitter_px > kJitterPx) {
      add("jitter",
          fmt::format("the object jumps by {:.1f} px from one frame to the next",
                      *motion.jitter_px),
          "shorten the exposure, and shelter the telescope from wind and touch");
    }
  }

  // The new level of light is that of other settings; sharpness may then change with it.
  void steadiness() {
    if (!health_.steadiness || turned()) return;
    const Steadiness& steady = *health_.steadiness;
    if (steady.light) {
      add("light_changes",
          fmt::format("the object gets {} by {:.0f}% at frame {}, all at once",
                      steady.light->change > 0 ? "brighter" : "darker",
                      100 * std::abs(steady.light->change), steady.light->from),
          "leave exposure, gain and filter as they are while recording; stack the parts one by one "
          "with --frames");
    } else if (steady.sharpness) {
      add("focus_changes",
          fmt::format("sharpness {} by {:.0f}% at frame {}, all at once",
                      steady.sharpness->change > 0 ? "rises" : "falls",
                      100 * std::abs(steady.sharpness->change), steady.sharpness->from),
          "focus before a recording, not during it; stack the sharper part alone with --frames");
    }
    if (steady.light_spread > kLightSpread) {
      add("light_varies",
          fmt::format("the brightness of the object varies by {:.0f}%, as through thin cloud",
                      100 * steady.light_spread),
          "wait for a clear sky: darker frames have more noise");
    }
  }

  void trend() {
    if (!health_.trend || !health_.trend->significant || turned()) return;
    if (health_.steadiness && (health_.steadiness->light || health_.steadiness->sharpness)) return;
    const Trend& trend = *health_.trend;
    if (trend.change > -kTrend) return;
    add("sharpness_falls",
        fmt::format("sharpness falls by {:.0f}% ({:.0f} to {:.0f}%) over the capture",
                    -100 * trend.change, -100 * trend.change_high, -100 * trend.change_low),
        "focus again before the next capture; if that does not help, the air has become worse");
  }

  void sampling() {
    if (optics_) {
      const double sampling = optics_->px_per_lambda_over_d();
      if (sampling < kCritical) {
        add("undersampled",
            fmt::format(
                "{:.2f} px per lambda/D, so the optics resolve finer detail than the pixels",
                sampling),
            fmt::format("use an extender, to a focal length of {:.0f} mm or more",
                        optics_->focal_length_mm * kCritical / sampling));
      } else if (sampling > kPlenty) {
        add("oversampled",
            fmt::format(
                "{:.1f} px per lambda/D, so light is spread over more pixels than detail needs",
                sampling),
            fmt::format("a focal length of {:.0f} to {:.0f} mm allows shorter exposures",
                        optics_->focal_length_mm * kCritical / sampling,
                        optics_->focal_length_mm * kPlenty / sampling));
      }
    } else if (health_.detail && health_.detail->to_the_end &&
               info_.colour != capture::Colour::cfa) {
      add("undersampled", "there is detail up to the finest that the pixels can show",
          "use an extender or smaller pixels, since finer detail is lost");
    }
  }

  void amount() {
    const std::int64_t usable = health_.survey.usable();
    if (usable == 0 || usable >= kFewFrames) return;
    add("few_frames", fmt::format("only {} usable", frames_are(usable)),
        "record some thousand: the best are chosen from many");
  }

  const capture::CaptureInfo& info_;
  const Health& health_;
  const std::optional<Optics>& optics_;
  std::vector<Finding> out_;
};

}  // namespace

std::vector<Finding> findings_of(const capture::CaptureInfo& info, const Health& health,
                                 const std::optional<Optics>& optics) {
  return Finder(info, health, optics).run();
}

}  // namespace lull::health
