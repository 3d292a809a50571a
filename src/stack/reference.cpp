#include "stack/reference.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/error.h"
#include "spectrum/frc.h"
#include "spectrum/radial_filter.h"
#include "stack/accumulator.h"
#include "stack/channel_offset.h"
#include "stack/colour_sums.h"
#include "stack/relative_blur.h"

namespace lull::stack {

namespace {

using align::FieldEstimate;
using align::FieldEstimator;
using align::ShiftField;

// Frames whose mean shows how soft they are: some of those that even the reference out, so that
// they need not be decoded again.
constexpr std::size_t kMostForBlur = Candidates::kMostEvenly / 4;
constexpr const char* kStage = "reference";
constexpr double kDefaultPatchPx = 48;
constexpr double kTypicalDetail = 0.28;  // cycles/px
constexpr double kLeastPatchPx = 24;
constexpr double kMostPatchPx = 128;
// Length over which the power of shift fields falls by e, over the side of a patch: see ShiftPrior.
constexpr double kDecayOverPatch = 4;

double patch_for(const spectrum::FrcCurve& agreement) {
  const double finest = agreement.half_bit_resolution().value_or(kTypicalDetail);
  return std::clamp(kDefaultPatchPx * std::sqrt(kTypicalDetail / finest), kLeastPatchPx,
                    kMostPatchPx);
}

// The mean of some fields, on their nodes.
struct MeanField {
  std::vector<double> x;
  std::vector<double> y;
};

MeanField mean_of(const KnownFields& fields) {
  const std::size_t nodes = fields.begin()->second.field.local_x.size();
  MeanField mean{std::vector<double>(nodes), std::vector<double>(nodes)};
  for (const auto& [position, estimate] : fields) {
    for (std::size_t n = 0; n < nodes; ++n) {
      mean.x[n] += static_cast<double>(estimate.field.local_x[n]);
      mean.y[n] += static_cast<double>(estimate.field.local_y[n]);
    }
  }
  for (double& value : mean.x) value /= static_cast<double>(fields.size());
  for (double& value : mean.y) value /= static_cast<double>(fields.size());
  return mean;
}

void take_off(const MeanField& mean, ShiftField& field) {
  for (std::size_t n = 0; n < mean.x.size(); ++n) {
    field.local_x[n] -= static_cast<float>(mean.x[n]);
    field.local_y[n] -= static_cast<float>(mean.y[n]);
  }
}

class Builder {
 public:
  Builder(FrameBatch& batch, const Candidates& candidates, Size size, double patch_px,
          const Progress& progress)
      : batch_(batch),
        candidates_(candidates),
        size_(size),
        patch_px_(patch_px),
        progress_(progress) {
    reference_.options.noise = candidates.median_noise();
    set_patch(patch_px > 0 ? patch_px : kDefaultPatchPx);
  }

  Reference build() {
    start();
    if (patch_px_ > 0) {
      refine();
    } else {
      choose_patch(refine());
    }
    refine();
    even_out();
    return std::move(reference_);
  }

 private:
  void set_patch(double px) {
    reference_.patch_px = px;
    reference_.options.prior.decay_px = kDecayOverPatch * px;
  }

  [[nodiscard]] align::FieldOptions without_finest_level() const {
    align::FieldOptions options = reference_.options;
    if (options.levels.size() > 1) options.levels.pop_back();
    return options;
  }

  void take(const Accumulator& stacks) {
    reference_.picture = stacks.mean();
    reference_.valid = stacks.valid();
  }

  void choose_patch(const Accumulator& stacks) {
    const Box box = candidates_.covered(candidates_.refined_count(), size_);
    set_patch(patch_for(
        spectrum::fourier_ring_correlation(stacks.half_mean(0, Half::first).view().crop(box),
                                           stacks.half_mean(0, Half::second).view().crop(box))));
  }

  void start() {
    Accumulator stacks(warp_sampler(size_), 1);
    batch_.load_each(candidates_.first_count(), kStage, progress_, [&](LoadedFrames&& loaded) {
      stacks.add(
          std::move(loaded).at_tracked_shifts().weigh_equally().contributions(Channels::luminance));
    });
    take(stacks);
  }

  // The reference's frames against the reference. The mean of their fields is made zero.
  Accumulator refine() {
    // The first reference is too soft to say more.
    const bool first = reference_.fields.empty();
    const FieldEstimator estimator(reference_.picture.view(), reference_.valid.view(),
                                   first ? without_finest_level() : reference_.options);
    const OutlierBounds bounds = reference_.bounds();
    const std::size_t count = candidates_.refined_count();
    KnownWeights weights(count);
    KnownFields found;
    batch_.load_each(count, kStage, progress_, [&](LoadedFrames&& loaded) {
      const WeightedFrames frames =
          std::move(loaded).register_by(estimator, reference_.fields).weigh_by_sharpness(bounds);
      for (std::size_t i = 0; i < frames.count(); ++i) {
        found[frames.position(i)] = frames.estimate(i);
        weights[frames.position(i)] = frames.weights(i);
      }
    });
    if (found.empty()) {
      throw NothingUsable(
          fmt::format("{}: its best frames could be read once, but not again. Is it still being "
                      "written, or on a "
                      "disk that fails?",
                      batch_.path()));
    }
    const MeanField mean = mean_of(found);
    for (auto& [position, estimate] : found) take_off(mean, estimate.field);
    reference_.fields = std::move(found);
    reference_.weights = std::move(weights);
    return rebuild(bounds);
  }

  // The air moves each place of the scene around its true one, so the mean field over the whole
  // capture is the best estimate of none (that over the reference's few frames is a worse one).
  void even_out() {
    const Plane soft = with_blur_of_mean();
    // The mean of many fields has little use for the finest level of each.
    const FieldEstimator estimator(soft.view(), reference_.valid.view(), without_finest_level());
    KnownFields found;
    const auto take_fields = [&](LoadedFrames&& loaded) {
      const RegisteredFrames frames = std::move(loaded).register_by(estimator, reference_.fields);
      for (std::size_t i = 0; i < frames.count(); ++i)
        found[frames.position(i)] = frames.estimate(i);
    };
    batch_.load_each(candidates_.evenly(Candidates::kMostEvenly), kStage, progress_, take_fields);
    const MeanField mean = mean_of(found);
    for (auto& [position, estimate] : reference_.fields) take_off(mean, estimate.field);
    rebuild(reference_.bounds());
  }

  // A blurred frame differs from a sharp reference in a way that looks like a shift that depends on
  // the scene, the same in every such frame. So the reference is given the blur of the mean.
  Plane with_blur_of_mean() {
    const FieldEstimator estimator(reference_.picture.view(), reference_.valid.view(),
                                   reference_.options);
    Accumulator mean(warp_sampler(size_), 1);
    const auto add = [&](LoadedFrames&& loaded) {
      mean.add(std::move(loaded)
                   .register_by(estimator, reference_.fields)
                   .weigh_equally()
                   .contributions(Channels::luminance));
    };
    batch_.load_each(candidates_.evenly(kMostForBlur), kStage, progress_, add);
    const Box box = candidates_.covered(candidates_.refined_count(), size_);
    return spectrum::filtered(
        reference_.picture.view(),
        relative_blur(reference_.picture.view().crop(box), mean.mean().view().crop(box)));
  }

  Accumulator rebuild(const OutlierBounds& bounds) {
    Accumulator stacks(warp_sampler(size_), 1);
    batch_.load_each(candidates_.refined_count(), kStage, progress_, [&](LoadedFrames&& loaded) {
      stacks.add(recall(std::move(loaded), reference_, bounds).contributions(Channels::luminance));
    });
    take(stacks);
    return stacks;
  }

  FrameBatch& batch_;
  const Candidates& candidates_;
  Size size_;
  double patch_px_;
  const Progress& progress_;
  Reference reference_;
};

}  // namespace

Reference build_reference(FrameBatch& batch, const Candidates& candidates, Size size,
                          double patch_px, const Progress& progress) {
  return Builder(batch, candidates, size, patch_px, progress).build();
}

WeightedFrames recall(LoadedFrames&& frames, const Reference& reference,
                      const OutlierBounds& bounds) {
  return std::move(frames).at_fields(reference.fields).weigh_as(reference.weights, bounds);
}

std::array<Displacement, 3> measure_dispersion(const Reference& reference, FrameBatch& batch,
                                               const Candidates& candidates,
                                               const capture::CaptureInfo& info,
                                               const Progress& progress) {
  Accumulator stacks = colour_sums(info, {});
  const OutlierBounds bounds = reference.bounds();
  batch.load_each(candidates.refined_count(), kStage, progress, [&](LoadedFrames&& loaded) {
    stacks.add(recall(std::move(loaded), reference, bounds).contributions(Channels::colours));
  });
  const Box box = candidates.covered(candidates.refined_count(), info.size);
  const Plane green = stacks.mean(1);
  const double finest = kFinestOffset / std::max(info.chroma.columns, info.chroma.rows);
  std::array<Displacement, 3> offsets;
  for (const int c : {0, 2}) {
    offsets[static_cast<std::size_t>(c)] =
        channel_offset(green.view().crop(box), stacks.mean(c).view().crop(box), finest);
  }
  make_collinear(offsets[0], offsets[2]);
  return offsets;
}

}  // namespace lull::stack
