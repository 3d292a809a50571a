#include "stack/stacker.h"

#include <algorithm>
#include <cmath>

#include "core/order.h"
#include "stack/final_stack.h"
#include "stack/frame_comparison.h"
#include "stack/reference.h"
#include "stack/share_correction.h"

namespace lull::stack {

namespace {

constexpr double kAutoPatchPx = 48;
// Side of the square that holds as much as a Gaussian window: sqrt(4 pi) standard deviations.
constexpr double kSigmasPerSide = 3.545;

// Noise of the mean of two pictures, from their difference: half of its robust deviation.
double noise_between(PlaneView a, PlaneView b) {
  std::vector<double> magnitudes;
  for (int y = 0; y < a.height_px; ++y) {
    for (int x = 0; x < a.width_px; ++x)
      magnitudes.push_back(
          std::abs(static_cast<double>(a.row(y)[x]) - static_cast<double>(b.row(y)[x])));
  }
  return 1.482602 * median(std::move(magnitudes)) / 2;
}

class Stacker {
 public:
  Stacker(capture::FrameStore& store, const Survey& survey, const StackOptions& options,
          const Progress& progress)
      : store_(store),
        survey_(survey),
        options_(options),
        progress_(progress),
        candidates_(survey, options.keep, store.info().path),
        size_(store.info().size),
        in_colour_(has_colour(store.info())),
        batch_(store, survey, candidates_, options.memory_bytes) {
    store_.retain([wanted = candidates_.indices()](FrameIndex i) { return wanted.contains(i); });
    result_.patch_px = options.patch_px > 0 ? options.patch_px : kAutoPatchPx;
  }

  StackResult run() {
    const FinalStack stacked = final_stack();
    finish(stacked);
    if (illustrator_) illustrate(stacked);
    if (options_.compare_frames) {
      result_.ratio = compare_with_frames(stacked.light, batch_, candidates_, stacked.kept,
                                          survey_.target.object,
                                          store_.info().colour == capture::Colour::cfa, progress_);
    }
    return std::move(result_);
  }

 private:
  FinalStack final_stack() {
    FinalPass::Options options;
    options.size = size_;
    options.field.noise = candidates_.usual_noise();
    options.field.levels.back().window_sigma_px = result_.patch_px / kSigmasPerSide;
    const Reference reference =
        build_reference(batch_, candidates_, size_, options.field, progress_);
    options.in_colour = in_colour_;
    if (in_colour_ && options_.mend_dispersion) {
      options.dispersion =
          measure_dispersion(reference, batch_, candidates_, store_.info(), progress_);
    }
    options.fuse = options_.fuse_frequencies && FrequencyFusion::fits(size_);
    if (options_.illustrate) illustrator_.emplace(candidates_.count());
    options.illustrator = illustrator_ ? &*illustrator_ : nullptr;
    return FinalPass(batch_, candidates_, reference, options, progress_).run();
  }

  [[nodiscard]] Plane cropped(const Plane& plane) const {
    return Plane::copy_of(plane.view().crop(result_.crop));
  }

  void finish(const FinalStack& stacked) {
    const Box box = candidates_.covered(stacked.kept, size_);
    result_.crop = options_.whole_frame ? Box{0, 0, size_.width_px, size_.height_px} : box;
    result_.fused = !stacked.fused.empty();
    result_.steps = stacked.steps;
    result_.effective_frames = stacked.effective.map(result_.crop);
    result_.local_shift_rms_px = stacked.local_shift_rms_px;
    const Plane first = stacked.light.half_mean(0);
    const Plane second = stacked.light.half_mean(1);
    result_.halves[0] = cropped(result_.fused ? stacked.fused[0] : first);
    result_.halves[1] = cropped(result_.fused ? stacked.fused[1] : second);
    result_.picture = result_.fused ? cropped(stacked.fused[2]) : cropped(stacked.light.mean());
    if (in_colour_) add_colours(stacked);
    // From the classic stacks: fused halves share the reference by which they were weighed, errors
    // and all, so their agreement would promise too much.
    result_.frc = fourier_ring_correlation(first.view().crop(box), second.view().crop(box));
    const Box inner = {box.x0 - result_.crop.x0, box.y0 - result_.crop.y0, box.x1 - result_.crop.x0,
                       box.y1 - result_.crop.y0};
    result_.noise =
        noise_between(result_.halves[0].view().crop(inner), result_.halves[1].view().crop(inner));
    for (std::size_t i = 0; i < stacked.kept; ++i) result_.kept.push_back(candidates_.at(i).index);
  }

  // Frames in colour are summed sample by sample, so there is no spectrum of a frame's colour to go
  // by: fusion is that of the luminance, and the colours take their share of what it changes.
  void add_colours(const FinalStack& stacked) {
    const ColourStacks& colours = stacked.colours;
    const Plane unfused[] = {cropped(stacked.light.half_mean(0)),
                             cropped(stacked.light.half_mean(1)), cropped(stacked.light.mean())};
    for (int c = 0; c < 3; ++c) {
      ColourResult colour;
      colour.picture = cropped(colours.mean(c));
      for (int half = 0; half < 2; ++half)
        colour.halves[half] = cropped(colours.half_mean(c, half));
      if (result_.fused) {
        share_correction(unfused[2].view(), result_.picture.view(), colour.picture.view());
        for (int half = 0; half < 2; ++half) {
          share_correction(unfused[half].view(), result_.halves[half].view(),
                           colour.halves[half].view());
        }
      }
      colour.dispersion = colours.offsets()[static_cast<std::size_t>(c)];
      result_.colours.push_back(std::move(colour));
    }
  }

  // The sharpest frame as the stack takes it in: warped, alone.
  void illustrate(const FinalStack& stacked) {
    result_.illustration = illustrator_->finish(result_.crop, stacked.kept);
    if (illustrator_->best_field().rows() == 0) return;
    batch_.load(0, 1, false);
    if (batch_.count() == 0) return;
    LoadedFrame& best = batch_[0];
    best.estimate.field = illustrator_->best_field();
    best.weights.assign(best.estimate.field.local_x.size(), 1.0F);
    std::vector<Plane>& out = result_.illustration->best_frame;
    if (!in_colour_) {
      HalfStacks alone(size_);
      alone.add(batch_.contributions());
      out.push_back(cropped(alone.mean()));
      return;
    }
    ColourStacks alone(size_);
    alone.set_offsets(stacked.colours.offsets());
    alone.add(batch_.colour_contributions());
    for (int c = 0; c < 3; ++c) out.push_back(cropped(alone.mean(c)));
  }

  capture::FrameStore& store_;
  const Survey& survey_;
  const StackOptions& options_;
  const Progress& progress_;
  Candidates candidates_;
  Size size_;
  bool in_colour_;
  FrameBatch batch_;
  std::optional<Illustrator> illustrator_;
  StackResult result_;
};

}  // namespace

StackResult stack(capture::FrameStore& frames, const Survey& survey, const StackOptions& options,
                  const Progress& progress) {
  return Stacker(frames, survey, options, progress).run();
}

}  // namespace lull::stack
