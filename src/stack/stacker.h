#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "capture/frame_store.h"
#include "core/progress.h"
#include "quality/keep.h"
#include "spectrum/frc.h"
#include "spectrum/radial_filter.h"
#include "spectrum/ratio_ring.h"
#include "stack/effective_frames.h"
#include "stack/enlargement.h"
#include "stack/illustration.h"
#include "stack/keep_step.h"
#include "stack/stack_watcher.h"
#include "survey/survey.h"

namespace lull::stack {

/// What of the reference frame the picture shows.
enum class Area {
  covered,  ///< what at least half of the kept frames cover
  whole,
};

/// What becomes of the dispersion of the air, by which the colours lie beside each other.
enum class Dispersion { measured_and_undone, left };

enum class Fusion {
  frequency,  ///< FrequencyFusion, where it can work
  none,
};

/// What is measured besides the picture, for restoring its detail and for a page.
enum class Comparison {
  with_frames,  ///< the ratio of powers by which detail is restored
  none,
};

enum class Illustrations { of_the_run, none };

struct StackOptions {
  quality::Keep keep = quality::KeepAuto{};
  double patch_px = 0;  ///< side of the patches that move on their own; 0 = auto
  Area area = Area::covered;
  Dispersion dispersion = Dispersion::measured_and_undone;
  Comparison comparison = Comparison::with_frames;
  Illustrations illustrations = Illustrations::none;
  Fusion fusion = Fusion::frequency;
  TransferEstimate transfer_of;     ///< by which a number of frames is chosen; empty: 1
  double pieces = 1;                ///< so many stacks will be averaged, of which this is one
  Enlargement enlargement;          ///< above scale 1 by Drizzle, without FrequencyFusion
  StackWatcher* watcher = nullptr;  ///< is shown the stack as it grows; null: nobody
  std::size_t memory_bytes = std::size_t{1} << 30;  ///< for the frames at work, not the cache
};

/// What a capture in colour adds to the luminance.
struct ColourResult {
  Plane picture;            ///< linear light
  Plane halves[2];          ///< the same from either half of the kept frames
  Displacement dispersion;  ///< of its detail against green's, px; taken out of the picture
};

/// What a picture larger than the frames adds.
struct EnlargedResult {
  Enlargement enlargement;
  std::vector<Plane> weights;  ///< of each channel, see drop_sampler()
  double filled = 0;           ///< share of the samples on which no drop fell
};

/// The channels of the picture with what the frames show beyond its edges.
struct Surroundings {
  std::vector<Plane> channels;
  Box picture;  ///< where it lies in them
};

/// Lengths are pixels of the frames, frequencies cycles per pixel of the picture.
// NOLINTNEXTLINE(*-identifier*): the compiler names the counter by which it moves `halves`
struct StackResult {
  /// Pixels of the picture for one of a frame, along a side.
  [[nodiscard]] double scale() const { return enlarged ? enlarged->enlargement.scale : 1; }

  Plane picture;                                ///< linear light, luminance
  Plane halves[2];                              ///< the same from either half of the kept frames
  Plane selected[2];                            ///< halves without FrequencyFusion: those of frc
  std::vector<ColourResult> colours;            ///< red, green, blue; none of a mono capture
  Surroundings surroundings;                    ///< by which restoring is right up to the edges
  Box crop;                                     ///< of the reference frame, what picture shows
  spectrum::FrcCurve frc;                       ///< between the halves
  std::vector<spectrum::RatioRing> ratio;       ///< to single frames; Comparison::with_frames
  std::vector<spectrum::FilterPoint> sampling;  ///< what sampling has left of its amplitude
  std::vector<KeepStep> steps;                  ///< nested stacks, fewest frames first
  NodeMap effective_frames;                     ///< how many frames count at each place
  std::vector<FrameIndex> kept;                 ///< best first
  std::optional<Illustration> illustration;     ///< Illustrations::of_the_run
  std::optional<EnlargedResult> enlarged;       ///< where scale is above 1
  bool fused = false;                           ///< by FrequencyFusion
  double patch_px = 0;
  double noise = 0;               ///< standard deviation of a pixel of the picture, light
  std::int64_t outliers = 0;      ///< samples that no scene can have made (OutlierBounds), repaired
  double local_shift_rms_px = 0;  ///< of the frames against the reference, mean over frames
};

/// The main job after the survey: builds the reference from the best frames, measures each kept
/// frame's shift field against it, and sums the frames by the sharpness of their patches.
/// @throws NothingUsable when fewer than two frames can be used, or none shows structure.
[[nodiscard]] StackResult stack(capture::FrameStore& frames, const survey::Survey& survey,
                                const StackOptions& options, const Progress& progress);

}  // namespace lull::stack
