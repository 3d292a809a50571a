#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "quality/target.h"
#include "stack/accumulator.h"
#include "stack/effective_frames.h"
#include "stack/enlargement.h"
#include "stack/frame_batch.h"
#include "stack/frequency_fusion.h"
#include "stack/illustration.h"
#include "stack/keep_step.h"
#include "stack/picture_set.h"
#include "stack/reference.h"
#include "stack/stack_watcher.h"

namespace lull::stack {

/// Sums of the same frames by one sampler each.
struct StackSums {
  Accumulator light;                   ///< luminance, on the reference's grid
  std::optional<Accumulator> colours;  ///< of captures in colour, on the reference's grid
  std::optional<Accumulator> drops;    ///< of the channels of the picture, on a finer grid

  [[nodiscard]] StackSums copy() const;

  /// The channels of the picture on the reference's grid.
  [[nodiscard]] const Accumulator& channels() const { return colours ? *colours : light; }

  /// Of the picture.
  [[nodiscard]] const PictureGrid& grid() const { return drops ? drops->grid() : light.grid(); }

  /// One of channels(), on the grid of the picture.
  [[nodiscard]] PictureSet means_of(int channel) const;
};

/// The sums of the frames that are kept.
struct FinalStack {
  StackSums sums;
  std::optional<PictureSet> fused;  ///< luminance by FrequencyFusion, where it was used
  EffectiveFrames effective;
  std::size_t kept = 0;
  std::vector<KeepStep> steps = {};
  double local_shift_rms_px = 0;  ///< mean over the frames
  std::int64_t outliers = 0;      ///< samples that no scene can have made, of all candidates
};

/// Adds up the candidates, best first, each by its field against the reference, and keeps the sums
/// of as many as promise the best finished picture (KeepChoice). Where more frames no longer help
/// the rest are left out.
class FinalPass {
 public:
  struct Options {
    const capture::CaptureInfo* info = nullptr;
    std::array<Displacement, 3> dispersion;
    bool fuse = false;                   ///< by FrequencyFusion, whose size fits
    Enlargement enlargement;             ///< of scale 1: none
    Illustrator* illustrator = nullptr;  ///< receives the frames, or null
    StackWatcher* watcher = nullptr;     ///< is shown the sums as they grow, or null
    TransferEstimate transfer_of;        ///< empty: stacks have no blur
    double pieces = 1;                   ///< see KeepChoice
    quality::Target target;              ///< where frames are lit
  };

  /// All outlive this.
  FinalPass(FrameBatch& batch, const Candidates& candidates, const Reference& reference,
            const Options& options, const Progress& progress);

  [[nodiscard]] FinalStack run();

 private:
  [[nodiscard]] FrequencyFusion learn_fusion();
  void add(const WeightedFrames& frames);
  void show() const;
  void judge(std::size_t count);
  [[nodiscard]] KeepChoice::Transfer transfer_of(std::size_t count, double resolution);
  [[nodiscard]] FinalStack so_far(std::size_t count);

  FrameBatch& batch_;
  const Candidates& candidates_;
  const Reference& reference_;
  const Options& options_;
  const Progress& progress_;
  OutlierBounds bounds_;
  std::int64_t outliers_ = 0;
  StackSums sums_;
  std::optional<FrequencyFusion> fusion_;
  WarpedFrames warped_;
  EffectiveFrames effective_;
  std::vector<KeepStep> steps_;
  std::optional<KeepChoice> choice_;
  double shift_sum_ = 0;
  std::size_t stacked_ = 0;
};

}  // namespace lull::stack
