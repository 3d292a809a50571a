#include "stack/final_stack.h"

#include <algorithm>
#include <utility>

#include "spectrum/frc.h"

namespace lull::stack {

FinalPass::FinalPass(FrameBatch& batch, const Candidates& candidates, const Reference& reference,
                     const Options& options, const Progress& progress)
    : batch_(batch),
      candidates_(candidates),
      reference_(reference),
      options_(options),
      progress_(progress),
      bounds_(reference.bounds()),
      light_(options.size),
      effective_(options.size) {
  if (options.in_colour) {
    colours_ = ColourStacks(options.size);
    colours_.set_offsets(options.dispersion);
  }
  if (options.enlargement.scale > 1) {
    enlarged_.emplace(options.size, options.in_colour ? 3 : 1, options.enlargement);
    enlarged_->set_offsets(options.dispersion);
  }
  if (options.fuse) learn_to_fuse();
}

void FinalPass::learn_to_fuse() {
  fusion_ = FrequencyFusion(reference_.picture.view(), reference_.weights);
  batch_.load_each(candidates_.refined_count(), false, "reference", progress_, [&] {
    recall(reference_, batch_);
    batch_.mend(bounds_);
    fusion_.learn(batch_.contributions());
  });
  fusion_.set_trust();
}

FinalStack FinalPass::run() {
  const align::FieldEstimator estimator(reference_.picture.view(), reference_.valid.view(),
                                        reference_.options);
  const auto all = static_cast<std::int64_t>(candidates_.count());
  FinalStack best;
  std::vector<KeepStep> steps;
  double most = -1;
  std::size_t first = 0;
  for (const std::size_t checkpoint : candidates_.checkpoints()) {
    for (; first < checkpoint; first += std::min(batch_.most(), checkpoint - first)) {
      progress_.step("stacking", static_cast<std::int64_t>(first), all);
      add(estimator, first, std::min(batch_.most(), checkpoint - first));
    }
    steps.push_back(judge(checkpoint));
    if (steps.back().information_bits < most) continue;
    most = steps.back().information_bits;
    best.kept = checkpoint;
    mark(best);
  }
  progress_.step("stacking", all, all);
  best.steps = std::move(steps);
  best.outliers = outliers_;
  best.local_shift_rms_px = stacked_ > 0 ? shift_sum_ / static_cast<double>(stacked_) : 0;
  return best;
}

void FinalPass::add(const align::FieldEstimator& estimator, std::size_t first, std::size_t count) {
  batch_.load(first, count, true);
  batch_.estimate(estimator, reference_.fields);
  outliers_ += batch_.weigh(bounds_);
  for (std::size_t i = 0; i < batch_.count(); ++i)
    shift_sum_ += batch_[i].estimate.field.local_rms_px();
  stacked_ += batch_.count();
  add_batch();
}

void FinalPass::add_batch() {
  light_.add(batch_.contributions());
  if (options_.fuse) fusion_.add(batch_.contributions());
  if (options_.in_colour) colours_.add(batch_.colour_contributions());
  if (enlarged_ && options_.in_colour) enlarged_->add(batch_.colour_contributions());
  if (enlarged_ && !options_.in_colour) enlarged_->add(batch_.contributions());
  for (std::size_t i = 0; i < batch_.count(); ++i) {
    const LoadedFrame& frame = batch_[i];
    effective_.add(frame.estimate.field, frame.weights, options_.size);
    if (options_.illustrator == nullptr) continue;
    options_.illustrator->add(frame.position, candidates_.at(frame.position).index,
                              frame.estimate.field);
  }
}

KeepStep FinalPass::judge(std::size_t count) const {
  const Box box = candidates_.covered(count, options_.size);
  const spectrum::FrcCurve frc = spectrum::fourier_ring_correlation(
      light_.half_mean(0).view().crop(box), light_.half_mean(1).view().crop(box));
  return {static_cast<std::int64_t>(count), frc.information_bits(), frc.resolution().value_or(0)};
}

// Keeps the sums so far. Where no more frames follow they are taken, not copied.
void FinalPass::mark(FinalStack& best) {
  if (options_.fuse) {
    best.fused.clear();
    fusion_.set_level(light_.half_mean(0).view(), light_.half_mean(1).view());
    for (int half = 0; half < 2; ++half)
      best.fused.push_back(fusion_.half_corrected(light_.half_mean(half).view(), half));
    best.fused.push_back(fusion_.corrected(light_.mean().view()));
  }
  best.effective = effective_;
  const bool last = best.kept == candidates_.count();
  best.light = last ? std::move(light_) : light_.copy();
  if (options_.in_colour) best.colours = last ? std::move(colours_) : colours_.copy();
  if (enlarged_) best.enlarged = last ? std::move(*enlarged_) : enlarged_->copy();
}

}  // namespace lull::stack
