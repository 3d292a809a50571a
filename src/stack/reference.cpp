#include "stack/reference.h"

#include <algorithm>
#include <utility>

#include "stack/channel_offset.h"

namespace lull::stack {

namespace {

using align::FieldEstimate;
using align::FieldEstimator;
using align::ShiftField;

constexpr int kRounds = 2;
constexpr const char* kStage = "reference";

void remove_mean(std::vector<FieldEstimate>& estimates) {
  const std::size_t nodes = estimates[0].field.local_x.size();
  for (std::size_t n = 0; n < nodes; ++n) {
    double x = 0;
    double y = 0;
    for (const FieldEstimate& e : estimates) {
      x += static_cast<double>(e.field.local_x[n]);
      y += static_cast<double>(e.field.local_y[n]);
    }
    const double count = static_cast<double>(estimates.size());
    for (FieldEstimate& e : estimates) {
      e.field.local_x[n] -= static_cast<float>(x / count);
      e.field.local_y[n] -= static_cast<float>(y / count);
    }
  }
}

class Builder {
 public:
  Builder(FrameBatch& batch, const Candidates& candidates, Size size,
          const align::FieldOptions& options, const Progress& progress)
      : batch_(batch),
        candidates_(candidates),
        size_(size),
        options_(options),
        progress_(progress) {}

  Reference build() {
    start();
    for (int round = 0; round < kRounds; ++round) refine();
    return std::move(reference_);
  }

 private:
  void take(const HalfStacks& stacks) {
    reference_.picture = stacks.mean();
    reference_.valid = stacks.valid();
  }

  void start() {
    HalfStacks stacks(size_);
    batch_.load_each(candidates_.first_count(), false, kStage, progress_, [&] {
      for (std::size_t i = 0; i < batch_.count(); ++i)
        batch_[i].weights.assign(batch_[i].estimate.field.local_x.size(), 1.0F);
      stacks.add(batch_.contributions());
    });
    take(stacks);
  }

  void refine() {
    const std::size_t count = candidates_.refined_count();
    const FieldEstimator estimator(reference_.picture.view(), reference_.valid.view(), options_);
    std::vector<FieldEstimate> found(count, FieldEstimate{ShiftField(size_), 1.0});
    std::vector<std::vector<float>> weights(count);
    batch_.load_each(count, true, kStage, progress_, [&] {
      batch_.estimate(estimator, reference_.fields);
      for (std::size_t i = 0; i < batch_.count(); ++i) {
        found[batch_[i].position] = batch_[i].estimate;
        weights[batch_[i].position] = std::move(batch_[i].weights);
      }
    });
    remove_mean(found);
    reference_.fields = std::move(found);
    reference_.weights = std::move(weights);
    HalfStacks stacks(size_);
    batch_.load_each(count, false, kStage, progress_, [&] {
      recall(reference_, batch_);
      stacks.add(batch_.contributions());
    });
    take(stacks);
  }

  FrameBatch& batch_;
  const Candidates& candidates_;
  Size size_;
  const align::FieldOptions& options_;
  const Progress& progress_;
  Reference reference_;
};

}  // namespace

Reference build_reference(FrameBatch& batch, const Candidates& candidates, Size size,
                          const align::FieldOptions& options, const Progress& progress) {
  return Builder(batch, candidates, size, options, progress).build();
}

void recall(const Reference& reference, FrameBatch& batch) {
  for (std::size_t i = 0; i < batch.count(); ++i) {
    batch[i].estimate = reference.fields[batch[i].position];
    batch[i].weights = reference.weights[batch[i].position];
  }
}

std::array<Shift, 3> measure_dispersion(const Reference& reference, FrameBatch& batch,
                                        const Candidates& candidates,
                                        const capture::CaptureInfo& info,
                                        const Progress& progress) {
  ColourStacks stacks(info.size);
  batch.load_each(candidates.refined_count(), true, kStage, progress, [&] {
    for (std::size_t i = 0; i < batch.count(); ++i) {
      batch[i].estimate = reference.fields[batch[i].position];
      batch.weigh(batch[i]);
    }
    stacks.add(batch.colour_contributions());
  });
  const Box box = candidates.covered(candidates.refined_count(), info.size);
  const Plane green = stacks.mean(1);
  const double finest = kFinestOffset / std::max(info.chroma.columns, info.chroma.rows);
  std::array<Shift, 3> offsets;
  for (const int c : {0, 2}) {
    offsets[static_cast<std::size_t>(c)] =
        channel_offset(green.view().crop(box), stacks.mean(c).view().crop(box), finest);
  }
  bring_on_line(offsets[0], offsets[2]);
  return offsets;
}

}  // namespace lull::stack
