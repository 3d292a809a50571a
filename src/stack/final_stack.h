#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "stack/colour_stacks.h"
#include "stack/drizzle.h"
#include "stack/effective_frames.h"
#include "stack/frame_batch.h"
#include "stack/frequency_fusion.h"
#include "stack/half_stacks.h"
#include "stack/illustration.h"
#include "stack/reference.h"

namespace lull::stack {

/// What the stack would be like with only the best so many frames.
struct KeepStep {
  std::int64_t frames = 0;
  double information_bits = 0;  ///< see spectrum::FrcCurve::information_bits
  double resolution = 0;        ///< cycles/px, 0 = none
};

/// The sums of the frames that are kept.
struct FinalStack {
  HalfStacks light;          ///< luminance
  ColourStacks colours;      ///< of captures in colour
  std::vector<Plane> fused;  ///< by FrequencyFusion: halves and whole; empty: it was not used
  EffectiveFrames effective;
  std::optional<Drizzle> enlarged;  ///< where asked for
  std::size_t kept = 0;
  std::vector<KeepStep> steps;
  double local_shift_rms_px = 0;  ///< mean over the frames
  std::int64_t outliers = 0;      ///< samples that no scene can have made, of all candidates
};

/// Adds up the candidates, best first, each by its field against the reference, and keeps the sums
/// of as many as hold the most information.
class FinalPass {
 public:
  struct Options {
    Size size;
    bool in_colour = false;
    std::array<Shift, 3> dispersion;
    bool fuse = false;                   ///< by FrequencyFusion, whose size fits
    Enlargement enlargement;             ///< of scale 1: none
    Illustrator* illustrator = nullptr;  ///< nobody, or who is shown the frames
  };

  /// All outlive this.
  FinalPass(FrameBatch& batch, const Candidates& candidates, const Reference& reference,
            const Options& options, const Progress& progress);

  [[nodiscard]] FinalStack run();

 private:
  void learn_to_fuse();
  void add(const align::FieldEstimator& estimator, std::size_t first, std::size_t count);
  void add_batch();
  [[nodiscard]] KeepStep judge(std::size_t count) const;
  void mark(FinalStack& best);

  FrameBatch& batch_;
  const Candidates& candidates_;
  const Reference& reference_;
  const Options& options_;
  const Progress& progress_;
  LightBounds bounds_;
  std::int64_t outliers_ = 0;
  HalfStacks light_;
  ColourStacks colours_;
  FrequencyFusion fusion_;
  EffectiveFrames effective_;
  std::optional<Drizzle> enlarged_;
  double shift_sum_ = 0;
  std::size_t stacked_ = 0;
};

}  // namespace lull::stack
