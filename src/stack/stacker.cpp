#include "stack/stacker.h"

#include <algorithm>
#include <cmath>

#include "core/order.h"
#include "spectrum/sampling.h"
#include "stack/final_stack.h"
#include "stack/frame_comparison.h"
#include "stack/reference.h"
#include "stack/share_correction.h"

namespace lull::stack {

namespace {

constexpr int kSamplingSteps = 48;
constexpr double kFinestSampling = 0.75;  // cycles/px: beyond the corner of the spectrum

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

// As quality::luminance has it.
Plane luminance_of(const Plane& red, const Plane& green, const Plane& blue) {
  Plane out(red.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x)
      out.row(y)[x] = 0.25F * (red.row(y)[x] + 2 * green.row(y)[x] + blue.row(y)[x]);
  }
  return out;
}

double share_without_weight(const std::vector<Plane>& weights) {
  std::int64_t without = 0;
  std::int64_t all = 0;
  for (const Plane& plane : weights) {
    for (int y = 0; y < plane.height(); ++y)
      without += std::count(plane.row(y), plane.row(y) + plane.width(), 0.0F);
    all += plane.size().area_px();
  }
  return static_cast<double>(without) / static_cast<double>(all);
}

class Stacker {
 public:
  Stacker(capture::FrameStore& store, const survey::Survey& survey, const StackOptions& options,
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
  }

  StackResult run() {
    const FinalStack stacked = final_stack();
    finish(stacked);
    for (int i = 0; i <= kSamplingSteps; ++i) {
      const double frequency = kFinestSampling * i / kSamplingSteps;
      result_.sampling.push_back({frequency, left_by_sampling(frequency)});
    }
    if (illustrator_) illustrate(stacked);
    if (options_.compare_frames) {
      result_.ratio = compare_with_frames(stacked.light, batch_, candidates_, stacked.kept,
                                          survey_.target.object,
                                          store_.info().colour == capture::Colour::cfa, progress_);
      for (auto& ring : result_.ratio) ring.frequency /= options_.enlargement.scale;
    }
    return std::move(result_);
  }

 private:
  FinalStack final_stack() {
    FinalPass::Options options;
    options.size = size_;
    const Reference reference =
        build_reference(batch_, candidates_, size_, options_.patch_px, progress_);
    result_.patch_px = reference.patch_px;
    options.in_colour = in_colour_;
    if (in_colour_ && options_.mend_dispersion) {
      options.dispersion =
          measure_dispersion(reference, batch_, candidates_, store_.info(), progress_);
    }
    options.enlargement = options_.enlargement;
    // The fine grid holds more than the spectrum of a frame does.
    options.fuse = options_.fuse_frequencies && !enlarges() && FrequencyFusion::fits(size_);
    if (options_.illustrate) illustrator_.emplace(candidates_.count());
    options.illustrator = illustrator_ ? &*illustrator_ : nullptr;
    return FinalPass(batch_, candidates_, reference, options, progress_).run();
  }

  // Frames are warped, their samples are those of a mosaic, or they fall as drops on finer pixels.
  [[nodiscard]] double left_by_sampling(double frequency) const {
    const auto [scale, pixfrac] = options_.enlargement;
    if (enlarges()) {
      return spectrum::drop_transfer(frequency * scale, pixfrac) *
             spectrum::drop_transfer(frequency, 1);
    }
    return store_.info().colour == capture::Colour::cfa ? spectrum::tent_transfer(frequency)
                                                        : spectrum::cubic_transfer(frequency);
  }

  [[nodiscard]] bool enlarges() const { return options_.enlargement.scale > 1; }

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
    result_.outliers = stacked.outliers;
    if (stacked.enlarged) {
      enlarge(stacked, box);
    } else {
      take(stacked, box);
    }
    for (std::size_t i = 0; i < stacked.kept; ++i) result_.kept.push_back(candidates_.at(i).index);
  }

  void take(const FinalStack& stacked, const Box& box) {
    const Plane first = stacked.light.half_mean(0);
    const Plane second = stacked.light.half_mean(1);
    result_.halves[0] = cropped(result_.fused ? stacked.fused[0] : first);
    result_.halves[1] = cropped(result_.fused ? stacked.fused[1] : second);
    result_.picture = result_.fused ? cropped(stacked.fused[2]) : cropped(stacked.light.mean());
    if (in_colour_) add_colours(stacked);
    // From the classic stacks: fused halves share the reference by which they were weighed, errors
    // and all, so their agreement would promise too much.
    result_.frc =
        spectrum::fourier_ring_correlation(first.view().crop(box), second.view().crop(box));
    result_.noise = noise_inside(box, result_.crop);
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

  void enlarge(const FinalStack& stacked, const Box& box) {
    const Drizzle& drizzle = *stacked.enlarged;
    const Box crop = drizzle.grid().inside(result_.crop);
    const auto cut = [&](const Plane& plane) { return Plane::copy_of(plane.view().crop(crop)); };
    EnlargedResult& enlarged = result_.enlarged.emplace();
    enlarged.enlargement = drizzle.enlargement();
    for (int c = 0; in_colour_ && c < 3; ++c) {
      const ColourStacks& colours = stacked.colours;
      const auto half = [&](int h) {
        return cut(drizzle.half_mean(c, h, colours.half_mean(c, h).view()));
      };
      result_.colours.push_back({cut(drizzle.mean(c, colours.mean(c).view())),
                                 {half(0), half(1)},
                                 colours.offsets()[static_cast<std::size_t>(c)]});
      enlarged.weights.push_back(cut(drizzle.weight(c)));
    }
    if (in_colour_) {
      const ColourResult& red = result_.colours[0];
      const ColourResult& green = result_.colours[1];
      const ColourResult& blue = result_.colours[2];
      result_.picture = luminance_of(red.picture, green.picture, blue.picture);
      for (int h = 0; h < 2; ++h)
        result_.halves[h] = luminance_of(red.halves[h], green.halves[h], blue.halves[h]);
    } else {
      result_.picture = cut(drizzle.mean(0, stacked.light.mean().view()));
      for (int h = 0; h < 2; ++h)
        result_.halves[h] = cut(drizzle.half_mean(0, h, stacked.light.half_mean(h).view()));
      enlarged.weights.push_back(cut(drizzle.weight(0)));
    }
    enlarged.filled = share_without_weight(enlarged.weights);
    NodeMap& map = result_.effective_frames;
    const double scale = drizzle.enlargement().scale;
    map.step_px *= scale;
    map.x0_px = (map.x0_px + result_.crop.x0 + 0.5) * scale - 0.5 - crop.x0;
    map.y0_px = (map.y0_px + result_.crop.y0 + 0.5) * scale - 0.5 - crop.y0;
    const Box inner = drizzle.grid().inside(box);
    const Box there = {inner.x0 - crop.x0, inner.y0 - crop.y0, inner.x1 - crop.x0,
                       inner.y1 - crop.y0};
    result_.frc = spectrum::fourier_ring_correlation(result_.halves[0].view().crop(there),
                                                     result_.halves[1].view().crop(there));
    result_.noise = noise_inside(inner, crop);
  }

  // Of the picture, on the part `box` of the area `crop` that it shows.
  [[nodiscard]] double noise_inside(const Box& box, const Box& crop) const {
    const Box inner = {box.x0 - crop.x0, box.y0 - crop.y0, box.x1 - crop.x0, box.y1 - crop.y0};
    return noise_between(result_.halves[0].view().crop(inner),
                         result_.halves[1].view().crop(inner));
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
    const auto show = [&](const Plane& plane) {
      std::vector<Plane>& out = result_.illustration->best_frame;
      if (!stacked.enlarged) return out.push_back(cropped(plane));
      const FineGrid& grid = stacked.enlarged->grid();
      const Plane large = grid.enlarged(plane.view());
      out.push_back(Plane::copy_of(large.view().crop(grid.inside(result_.crop))));
    };
    if (!in_colour_) {
      HalfStacks alone(size_);
      alone.add(batch_.contributions());
      show(alone.mean());
      return;
    }
    ColourStacks alone(size_);
    alone.set_offsets(stacked.colours.offsets());
    alone.add(batch_.colour_contributions());
    for (int c = 0; c < 3; ++c) show(alone.mean(c));
  }

  capture::FrameStore& store_;
  const survey::Survey& survey_;
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

StackResult stack(capture::FrameStore& frames, const survey::Survey& survey,
                  const StackOptions& options, const Progress& progress) {
  return Stacker(frames, survey, options, progress).run();
}

}  // namespace lull::stack
