#pragma once

#include <optional>
#include <vector>

#include "capture/frame_store.h"
#include "core/progress.h"
#include "health/detail_spectrum.h"
#include "health/exposure.h"
#include "health/interlace.h"
#include "health/motion.h"
#include "health/optics.h"
#include "health/photon_transfer.h"
#include "health/shape.h"
#include "health/steadiness.h"
#include "health/timing.h"
#include "health/trend.h"
#include "survey/survey.h"

namespace lull::health {

/// Noise below this is lost in the rounding to levels (Widrow & Kollar 2008, Quantization Noise,
/// from memory: from half a level on, rounding acts as independent white noise).
inline constexpr double kRoundedNoiseAdu = 0.5;

/// Offsets of columns and rows that are the same in every frame, standard deviation in ADU.
struct Pattern {
  double columns_adu = 0;
  double rows_adu = 0;
  bool significant = false;
};

/// What the samples of a capture are.
enum class Samples {
  recorded,    ///< those that the camera wrote
  calibrated,  ///< with a dark or a flat
};

/// Of which frames the samples are examined; figures from the survey use all frames. Movement from
/// one frame to the next is always measured on blocks ever farther apart.
enum class Coverage {
  all,
  some_blocks,  ///< in a longer capture more of them, but a smaller share
};

struct HealthOptions {
  std::optional<quality::Metric> metric{};
  Samples samples = Samples::recorded;
  std::optional<Pattern> pattern{};  ///< as measured before
  Coverage coverage = Coverage::all;
  survey::SurveyWatcher* companion = nullptr;  ///< a second watcher of the frames, or null
};

/// Position and extent of the object, over all usable frames.
struct Place {
  Kind kind = Kind::field;
  double frame_share = 1;      ///< part of the frame that the object covers, median of the frames
  std::optional<Size> extent;  ///< of a disc or star, median of the frames
  double cut_frames = 0;       ///< share of the frames in which the edge cuts a disc or star
};

/// All health figures from one pass over a capture.
struct Health {
  survey::Survey survey;
  Place place;
  Exposure exposure;
  Samples samples = Samples::recorded;
  std::int64_t frames_looked_at = 0;  ///< usable ones whose samples were counted
  std::optional<Timing> timing;
  std::optional<PhotonTransfer> noise;
  std::optional<Pattern> pattern;
  double faint_noise_adu = 0;  ///< standard deviation in the object's faint parts; 0 = not known
  std::optional<Motion> motion;
  std::optional<Trend> trend;
  std::optional<Steadiness> steadiness;
  std::optional<Interlace> interlace;
  std::optional<DetailSpectrum> detail;
};

/// Reads the capture once (stack::survey). Memory does not depend on its length, but for about 200
/// bytes a frame. Same figures for any number of threads. @throws as stack::survey does.
[[nodiscard]] Health examine(capture::FrameStore& frames, const HealthOptions& options,
                             const Progress& progress);

}  // namespace lull::health
