#include "stack/final_stack.h"

#include <algorithm>
#include <utility>

#include "spectrum/frc.h"
#include "spectrum/ring_sums.h"
#include "stack/colour_sums.h"
#include "stack/frame_comparison.h"
#include "stack/fusion_correction.h"
#include "stack/fusion_learner.h"

namespace lull::stack {

namespace {

StackSums empty_sums(const FinalPass::Options& options) {
  const capture::CaptureInfo& info = *options.info;
  StackSums sums{Accumulator(warp_sampler(info.size), 1), {}, {}};
  if (has_colour(info)) sums.colours = colour_sums(info, options.dispersion);
  if (options.enlargement.scale > 1) {
    sums.drops.emplace(drop_sampler(PictureGrid(info.size, options.enlargement.scale),
                                    options.enlargement.pixfrac),
                       sums.channels().channels());
    sums.drops->set_offsets(sums.channels().offsets());
  }
  return sums;
}

}  // namespace

StackSums StackSums::copy() const {
  StackSums out{light.copy(), {}, {}};
  if (colours) out.colours = colours->copy();
  if (drops) out.drops = drops->copy();
  return out;
}

PictureSet StackSums::means_of(int channel) const {
  return drops ? means(*drops, channel, channels()) : means(channels(), channel);
}

FinalPass::FinalPass(FrameBatch& batch, const Candidates& candidates, const Reference& reference,
                     const Options& options, const Progress& progress)
    : batch_(batch),
      candidates_(candidates),
      reference_(reference),
      options_(options),
      progress_(progress),
      bounds_(reference.bounds()),
      sums_(empty_sums(options)),
      effective_(options.info->size) {
  if (options.fuse) fusion_ = learn_fusion();
}

FrequencyFusion FinalPass::learn_fusion() {
  FusionLearner learner(reference_.picture.view(), reference_.weights);
  std::vector<std::size_t> positions;
  for (std::size_t i = 0; i < candidates_.refined_count(); i += 2) positions.push_back(i);
  batch_.load_each(positions, "reference", progress_, [&](LoadedFrames&& loaded) {
    auto parts = recall(std::move(loaded), reference_, bounds_).contributions(Channels::luminance);
    warped_.warp(parts, options_.info->size);
    learner.add(parts, warped_);
  });
  return std::move(learner).finish();
}

FinalStack FinalPass::run() {
  const align::FieldEstimator estimator(reference_.picture.view(), reference_.valid.view(),
                                        reference_.options);
  const std::size_t all = candidates_.count();
  std::optional<FinalStack> best;
  std::size_t first = 0;
  for (const std::size_t checkpoint : candidates_.checkpoints()) {
    batch_.load_each(FrameBatch::range(first, checkpoint), {"stacking", first, all}, progress_,
                     [&](LoadedFrames&& loaded) {
                       add(std::move(loaded)
                               .register_by(estimator, reference_.fields)
                               .weigh_by_sharpness(bounds_));
                       show();
                     });
    first = checkpoint;
    judge(checkpoint);
    if (choice_ && choice_->settled()) break;
    if (!choice_ || choice_->last_is_best()) best.emplace(so_far(checkpoint));
  }
  progress_.step("stacking", static_cast<std::int64_t>(all), static_cast<std::int64_t>(all));
  best->steps = std::move(steps_);
  best->outliers = outliers_;
  best->local_shift_rms_px = stacked_ > 0 ? shift_sum_ / static_cast<double>(stacked_) : 0;
  return std::move(*best);
}

void FinalPass::add(const WeightedFrames& frames) {
  outliers_ += frames.repaired();
  stacked_ += frames.count();
  auto luminance = frames.contributions(Channels::luminance);
  if (fusion_) warped_.warp(luminance, options_.info->size);
  const auto channels = sums_.colours ? frames.contributions(Channels::colours) : luminance;
  sums_.light.add(luminance);
  if (fusion_) fusion_->add(luminance, warped_);
  if (sums_.colours) sums_.colours->add(channels);
  if (sums_.drops) sums_.drops->add(channels);
  for (std::size_t i = 0; i < frames.count(); ++i) {
    const align::ShiftField& field = frames.estimate(i).field;
    shift_sum_ += field.local_rms_px();
    effective_.add(field, frames.weights(i), options_.info->size);
    if (options_.illustrator == nullptr) continue;
    const std::size_t position = frames.position(i);
    options_.illustrator->add(position, candidates_.at(position).index, field);
  }
}

void FinalPass::show() const {
  if (options_.watcher == nullptr || !options_.watcher->wants_picture()) return;
  const Accumulator& sums = sums_.channels();
  std::vector<Plane> channels;
  for (int c = 0; c < sums.channels(); ++c) channels.push_back(sums.mean(c));
  options_.watcher->see(std::move(channels), stacked_);
}

// Resolution and information are of what these frames cover, errors of one area for all.
void FinalPass::judge(std::size_t count) {
  const Plane first = sums_.light.half_mean(0, Half::first);
  const Plane second = sums_.light.half_mean(0, Half::second);
  const Box box = candidates_.covered(count, options_.info->size);
  const spectrum::FrcCurve frc =
      spectrum::fourier_ring_correlation(first.view().crop(box), second.view().crop(box));
  const double resolution = frc.resolution().value_or(0);
  steps_.push_back({static_cast<std::int64_t>(count), frc.information_bits(), resolution});
  if (!candidates_.automatic()) return;
  if (!choice_) choice_.emplace(transfer_of(count, resolution), options_.pieces);
  const Box all = candidates_.covered(candidates_.count(), options_.info->size);
  choice_->add(spectrum::ring_sums(first.view().crop(all), second.view().crop(all)));
  const std::vector<ExpectedError>& errors = choice_->errors();
  for (std::size_t i = 0; i < steps_.size(); ++i) steps_[i].expected = errors[i];
}

KeepChoice::Transfer FinalPass::transfer_of(std::size_t count, double resolution) {
  if (!options_.transfer_of || !(resolution > 0)) return [](double) { return 1.0; };
  return options_.transfer_of(
      compare_with_kept(sums_.light, batch_, candidates_, count, options_.target,
                        options_.info->colour, progress_.silent()),
      resolution);
}

// Where no more frames follow the sums are taken, not copied.
FinalStack FinalPass::so_far(std::size_t count) {
  std::optional<PictureSet> fused;
  if (fusion_) {
    const PictureSet light = means(sums_.light, 0);
    const FusionCorrection fusion =
        fusion_->correction(light.halves[0].view(), light.halves[1].view());
    fused.emplace(PictureSet{fusion.corrected(light.whole.view()),
                             {fusion.half_corrected(light.halves[0].view(), Half::first),
                              fusion.half_corrected(light.halves[1].view(), Half::second)}});
  }
  FinalStack out{count == candidates_.count() ? std::move(sums_) : sums_.copy(), std::move(fused),
                 effective_};
  out.kept = count;
  return out;
}

}  // namespace lull::stack
