#pragma once

#include <cstddef>
#include <cstdint>
#include <map>
#include <span>
#include <utility>
#include <vector>

#include "align/field_estimator.h"
#include "stack/candidates.h"
#include "stack/contribution.h"
#include "stack/frame_at_work.h"
#include "stack/outlier_bounds.h"
#include "survey/survey.h"

namespace lull::stack {

/// Fields by the position of their frame.
using KnownFields = std::map<std::size_t, align::FieldEstimate>;

/// Weights on the nodes of the fields, by the position of their frame.
using KnownWeights = std::vector<std::vector<float>>;

/// What the steps know beside the frames. All outlive this.
struct BatchContext {
  BatchContext(const capture::CaptureInfo& info, const survey::Survey& survey,
               const Candidates& candidates);

  const capture::CaptureInfo& info;
  const survey::Survey& survey;
  const Candidates& candidates;
  bool in_colour;
  double noise_gain;  ///< see quality::noise_gain()
};

/// Frames in one of the states of a batch. Each state is made from the one before it, which is
/// used up; all are valid until the next load.
class BatchStep {
 public:
  BatchStep(std::span<FrameAtWork> frames, const BatchContext& context)
      : frames_(frames), context_(&context) {}

  BatchStep(const BatchStep&) = delete;
  BatchStep& operator=(const BatchStep&) = delete;
  BatchStep(BatchStep&&) = default;
  BatchStep& operator=(BatchStep&&) = default;

  [[nodiscard]] std::size_t count() const { return frames_.size(); }

  [[nodiscard]] std::size_t position(std::size_t i) const { return frames_[i].position; }

 protected:
  ~BatchStep() = default;

  std::span<FrameAtWork> frames_;
  const BatchContext* context_;
};

/// Frames whose fields and weights are known.
class WeightedFrames : public BatchStep {
 public:
  /// @param repaired  samples that no scene can have made, found in them.
  WeightedFrames(BatchStep&& frames, std::int64_t repaired)
      : BatchStep(std::move(frames)), repaired_(repaired) {}

  [[nodiscard]] PlaneView luminance(std::size_t i) const { return frames_[i].luminance.view(); }

  [[nodiscard]] const align::FieldEstimate& estimate(std::size_t i) const {
    return frames_[i].estimate;
  }

  [[nodiscard]] const std::vector<float>& weights(std::size_t i) const {
    return frames_[i].weights;
  }

  [[nodiscard]] std::int64_t repaired() const { return repaired_; }

  /// The frames on their way into a stack.
  [[nodiscard]] std::vector<Contribution> contributions(Channels channels) const;

 private:
  std::int64_t repaired_;
};

/// Frames whose fields are known.
class RegisteredFrames : public BatchStep {
 public:
  explicit RegisteredFrames(BatchStep&& frames) : BatchStep(std::move(frames)) {}

  [[nodiscard]] const align::FieldEstimate& estimate(std::size_t i) const {
    return frames_[i].estimate;
  }

  /// All as they are, with weight 1.
  [[nodiscard]] WeightedFrames weigh_equally() &&;

  /// Repairs what no scene can have put into them, and weighs their patches by the sharpness of
  /// what is left. Frames that need more than a few hundredths repaired show something else: their
  /// weight is 0, and repaired() leaves them out.
  [[nodiscard]] WeightedFrames weigh_by_sharpness(const OutlierBounds& bounds) &&;

  /// Repairs them; their weights were measured before.
  [[nodiscard]] WeightedFrames weigh_as(const KnownWeights& weights,
                                        const OutlierBounds& bounds) &&;

 private:
  [[nodiscard]] std::vector<Place> repair(FrameAtWork& frame, const OutlierBounds& bounds) const;
  [[nodiscard]] std::vector<float> weights_of(const FrameAtWork& frame,
                                              const quality::CellMeasure& cells) const;
};

/// Frames that were read and prepared.
class LoadedFrames : public BatchStep {
 public:
  using BatchStep::BatchStep;

  /// By the shifts of tracking.
  [[nodiscard]] RegisteredFrames at_tracked_shifts() &&;

  /// By fields that are known for all of them.
  [[nodiscard]] RegisteredFrames at_fields(const KnownFields& fields) &&;

  /// By fields measured now. @param known  get refined; the others begin at the tracked shift.
  [[nodiscard]] RegisteredFrames register_by(const align::FieldEstimator& estimator,
                                             const KnownFields& known) &&;

 private:
  [[nodiscard]] align::FieldEstimate tracked(const FrameAtWork& frame) const;
};

}  // namespace lull::stack
