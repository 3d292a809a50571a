#include "stack/stacker.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>
#include <set>

#include "core/order.h"
#include "core/parallel.h"
#include "stack/channel_offset.h"
#include "stack/colour_stacks.h"
#include "stack/frequency_fusion.h"
#include "stack/half_stacks.h"

namespace lull::stack {

namespace {

using align::FieldEstimate;
using align::FieldEstimator;
using align::PaddedFrame;
using align::ShiftField;
using quality::FrameRecord;

constexpr std::size_t kBatchFrames = 16;
constexpr int kReferenceRounds = 2;
constexpr double kReferenceShare = 0.1;
constexpr std::size_t kFewestReference = 8;
constexpr std::size_t kMostFirstReference = 60;  // frames of the first reference
constexpr std::size_t kMostReference = 60;       // frames of the refined ones
constexpr double kMostAutoShare = 0.75;          // what is worse adds nothing any more
constexpr double kAutoPatchPx = 48;
constexpr std::size_t kComparedFrames = 48;
// Side of the square that holds as much as a Gaussian window: sqrt(4 pi) standard deviations.
constexpr double kSigmasPerSide = 3.545;

std::size_t sz(std::int64_t value) { return static_cast<std::size_t>(value); }

// One frame in memory, ready to be measured and warped.
struct Loaded {
  std::size_t position = 0;  ///< in rank order
  PaddedFrame frame;
  ColourFrame colours;  ///< of captures in colour
  quality::CellMeasure cells;
  FieldEstimate estimate;
  std::vector<float> weights;
  quality::LuminanceBuffer luminance;
  quality::MeasureWorkspace workspace;
  FieldEstimator::Workspace field;
};

class Stacker {
 public:
  Stacker(capture::FrameStore& store, const Survey& survey, const StackOptions& options,
          const Progress& progress)
      : store_(store),
        survey_(survey),
        options_(options),
        progress_(progress),
        order_(quality::rank(survey.records)) {
    if (order_.size() < 2) {
      throw NothingUsable(fmt::format(
          "{}: {} of {} frames can be used; a stack needs at least 2 in which the object is found",
          store.info().path, order_.size(), survey.records.size()));
    }
    size_ = store.info().size;
    in_colour_ = has_colour(store.info());
    choose_candidates();
    noise_gain_ = quality::noise_gain(survey.metric, store.info().colour == capture::Colour::cfa);
    batch_.resize(batch_frames());
    result_.patch_px = options.patch_px > 0 ? options.patch_px : kAutoPatchPx;
    field_options_.levels.back().window_sigma_px = result_.patch_px / kSigmasPerSide;
  }

  StackResult run() {
    Plane reference = first_reference();
    Plane valid;
    for (int round = 0; round < kReferenceRounds; ++round)
      refine_reference(reference, valid, round);
    if (in_colour_) {
      colours_ = ColourStacks(size_);
      if (options_.mend_dispersion) measure_dispersion();
    }
    prepare_fusion(reference);
    if (options_.illustrate) illustrator_.emplace(size_, order_.size());
    HalfStacks stacks = final_stack(reference, valid);
    finish(stacks);
    if (illustrator_) illustrate();
    if (options_.compare_frames) compare_with_frames(stacks);
    return std::move(result_);
  }

 private:
  void choose_candidates() {
    const auto usable = static_cast<std::int64_t>(order_.size());
    automatic_ = std::holds_alternative<quality::KeepAuto>(options_.keep);
    const auto most =
        static_cast<std::int64_t>(std::llround(kMostAutoShare * static_cast<double>(usable)));
    const std::int64_t kept =
        automatic_ ? std::clamp<std::int64_t>(std::max<std::int64_t>(most, 20), 2, usable)
                   : std::max<std::int64_t>(quality::kept_frames(options_.keep, usable),
                                            std::min<std::int64_t>(2, usable));
    order_.resize(sz(kept));
    const auto share = static_cast<std::size_t>(kReferenceShare * static_cast<double>(usable));
    first_count_ =
        std::min({std::max(share, kFewestReference), kMostFirstReference, order_.size()});
    refined_count_ = std::min(kMostReference, order_.size());
    std::vector<double> x;
    std::vector<double> y;
    for (std::size_t i = 0; i < first_count_; ++i) {
      x.push_back(record(i).shift.x_px);
      y.push_back(record(i).shift.y_px);
    }
    origin_ = {median(x), median(y)};
    std::set<FrameIndex> wanted;
    for (const std::size_t i : order_) wanted.insert(survey_.records[i].index);
    store_.retain([&](FrameIndex index) { return wanted.contains(index); });
    std::vector<double> sharpness;
    for (std::size_t i = 0; i < first_count_; ++i) sharpness.push_back(record(i).sharpness);
    usual_sharpness_ = median(sharpness);
    std::vector<double> noise;
    for (std::size_t i = 0; i < first_count_; ++i) noise.push_back(record(i).noise);
    field_options_.noise = median(noise);
  }

  [[nodiscard]] const FrameRecord& record(std::size_t position) const {
    return survey_.records[order_[position]];
  }

  [[nodiscard]] std::size_t batch_frames() const {
    const std::size_t bytes =
        sz(size_.area_px()) * (in_colour_ ? 24 : 12);  // float frames, luminance, box planes
    return std::clamp<std::size_t>(options_.memory_bytes / std::max<std::size_t>(bytes, 1), 1,
                                   kBatchFrames);
  }

  // Fills the batch with the frames at positions [first, first + count) of the rank order; those
  // that cannot be read again are left out. Reads in the order of the file. Only frames that are to
  // be weighed need their cells measured.
  std::size_t load(std::size_t first, std::size_t count, bool measured) {
    std::vector<std::size_t> positions(count);
    std::iota(positions.begin(), positions.end(), first);
    return load(std::move(positions), measured);
  }

  std::size_t load(std::vector<std::size_t> positions, bool measured) {
    std::sort(positions.begin(), positions.end(),
              [&](std::size_t a, std::size_t b) { return record(a).index < record(b).index; });
    std::vector<std::pair<std::size_t, capture::Frame>> read;
    for (const std::size_t position : positions) {
      Outcome<capture::Frame> frame = store_.at(record(position).index);
      if (frame.ok()) read.emplace_back(position, std::move(frame).value());
    }
    std::sort(read.begin(), read.end(),
              [](const auto& a, const auto& b) { return a.first < b.first; });
    parallel_for(static_cast<std::int64_t>(read.size()), [&](std::int64_t i) {
      prepare(read[sz(i)].second, read[sz(i)].first, measured, batch_[sz(i)]);
    });
    return read.size();
  }

  void prepare(const capture::Frame& frame, std::size_t position, bool measured,
               Loaded& out) const {
    out.position = position;
    const quality::Luminance light = quality::luminance(frame, store_.info(), out.luminance);
    out.frame.assign(light.view, light.scale);
    if (in_colour_) out.colours.assign(frame, store_.info());
    if (measured) measure(light, out);
    const Shift whole = record(position).shift - origin_;
    out.estimate = {ShiftField(size_, whole), 1.0};
  }

  void measure(const quality::Luminance& light, Loaded& out) const {
    out.cells = quality::measure(light, survey_.metric, out.workspace);
    const auto per_unit = static_cast<float>(light.scale.per_unit);
    for (float& value : out.cells.energy.values()) value *= per_unit * per_unit;
    for (float& value : out.cells.mean.values())
      value = static_cast<float>(light.scale.to_light(static_cast<double>(value)));
  }

  void weigh(Loaded& loaded) const {
    const FrameRecord& r = record(loaded.position);
    loaded.weights =
        patch_weights(loaded.cells, noise_gain_ * r.noise * r.noise, r.brightness,
                      survey_.target.object, usual_sharpness_, loaded.estimate.field, {});
  }

  [[nodiscard]] std::vector<Contribution> contributions(std::size_t count) const {
    std::vector<Contribution> parts;
    for (std::size_t i = 0; i < count; ++i) {
      const Loaded& loaded = batch_[i];
      parts.push_back({&loaded.frame, &loaded.estimate.field, &loaded.weights, loaded.estimate.gain,
                       static_cast<int>(loaded.position % 2), loaded.position < refined_count_});
    }
    return parts;
  }

  [[nodiscard]] std::vector<ColourContribution> colour_contributions(std::size_t count) const {
    std::vector<ColourContribution> parts;
    for (std::size_t i = 0; i < count; ++i) {
      const Loaded& loaded = batch_[i];
      parts.push_back({&loaded.colours, &loaded.estimate.field, &loaded.weights,
                       loaded.estimate.gain, static_cast<int>(loaded.position % 2)});
    }
    return parts;
  }

  // Calls body(loaded count) for batches of the first `count` positions of the reference's frames.
  template <class Body>
  void for_batches(std::size_t count, bool measured, const Body& body) {
    const char* stage = "reference";
    for (std::size_t first = 0; first < count; first += batch_.size()) {
      progress_.step(stage, static_cast<std::int64_t>(first), static_cast<std::int64_t>(count));
      body(load(first, std::min(batch_.size(), count - first), measured));
    }
    progress_.step(stage, static_cast<std::int64_t>(count), static_cast<std::int64_t>(count));
  }

  Plane first_reference() {
    HalfStacks stacks(size_);
    for_batches(first_count_, false, [&](std::size_t loaded) {
      for (std::size_t i = 0; i < loaded; ++i)
        batch_[i].weights.assign(batch_[i].estimate.field.local_x.size(), 1.0F);
      stacks.add(contributions(loaded));
    });
    valid_ = stacks.valid();
    return stacks.mean();
  }

  void estimate_batch(const FieldEstimator& estimator, std::size_t loaded) {
    parallel_for(static_cast<std::int64_t>(loaded), [&](std::int64_t n) {
      Loaded& frame = batch_[sz(n)];
      const bool known = frame.position < fields_.size();
      FieldEstimate start = known ? fields_[frame.position] : frame.estimate;
      frame.estimate = estimator.estimate(frame.frame, std::move(start), known, frame.field);
      weigh(frame);
    });
  }

  // Measures the best frames against the reference, makes the mean of their fields zero, so that
  // the reference does not keep one frame's distortion, and rebuilds the reference from them.
  void refine_reference(Plane& reference, Plane& valid, int round) {
    if (round == 0) valid = std::move(valid_);
    const FieldEstimator estimator(reference.view(), valid.view(), field_options_);
    std::vector<FieldEstimate> found(refined_count_, FieldEstimate{ShiftField(size_), 1.0});
    std::vector<std::vector<float>> weights(refined_count_);
    for_batches(refined_count_, true, [&](std::size_t loaded) {
      estimate_batch(estimator, loaded);
      for (std::size_t i = 0; i < loaded; ++i) {
        found[batch_[i].position] = batch_[i].estimate;
        weights[batch_[i].position] = std::move(batch_[i].weights);
      }
    });
    remove_mean(found);
    fields_ = std::move(found);
    reference_weights_ = std::move(weights);
    HalfStacks stacks(size_);
    for_batches(refined_count_, false, [&](std::size_t loaded) {
      recall(loaded);
      stacks.add(contributions(loaded));
    });
    reference = stacks.mean();
    valid = stacks.valid();
  }

  // Gives loaded frames of the reference the fields and weights that they have in it.
  void recall(std::size_t loaded) {
    for (std::size_t i = 0; i < loaded; ++i) {
      batch_[i].estimate = fields_[batch_[i].position];
      batch_[i].weights = reference_weights_[batch_[i].position];
    }
  }

  // Frames in colour are summed sample by sample, so there is no spectrum of a frame to go by.
  void prepare_fusion(const Plane& reference) {
    result_.fused = options_.fuse_frequencies && !in_colour_ && FrequencyFusion::fits(size_);
    if (!result_.fused) return;
    fusion_ = FrequencyFusion(reference.view(), reference_weights_);
    for_batches(refined_count_, false, [&](std::size_t loaded) {
      recall(loaded);
      fusion_.learn(contributions(loaded));
    });
    fusion_.set_trust();
  }

  void fuse(const HalfStacks& stacks) {
    fusion_.set_level(stacks.half_mean(0).view(), stacks.half_mean(1).view());
    fused_[0] = fusion_.half_corrected(stacks.half_mean(0).view(), 0);
    fused_[1] = fusion_.half_corrected(stacks.half_mean(1).view(), 1);
    fused_[2] = fusion_.corrected(stacks.mean().view());
  }

  // Registers the colours of the reference's frames, stacked by the known fields.
  void measure_dispersion() {
    ColourStacks stacks(size_);
    for_batches(refined_count_, true, [&](std::size_t loaded) {
      for (std::size_t i = 0; i < loaded; ++i) {
        batch_[i].estimate = fields_[batch_[i].position];
        weigh(batch_[i]);
      }
      stacks.add(colour_contributions(loaded));
    });
    const Box box = covered(refined_count_);
    const Plane green = stacks.mean(1);
    const capture::Chroma& chroma = store_.info().chroma;
    const double finest = kFinestOffset / std::max(chroma.columns, chroma.rows);
    std::array<Shift, 3> offsets;
    for (const int c : {0, 2}) {
      offsets[static_cast<std::size_t>(c)] =
          channel_offset(green.view().crop(box), stacks.mean(c).view().crop(box), finest);
    }
    bring_on_line(offsets[0], offsets[2]);
    colours_.set_offsets(offsets);
  }

  static void remove_mean(std::vector<FieldEstimate>& estimates) {
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

  // Numbers of frames at which nested stacks are judged.
  [[nodiscard]] std::vector<std::size_t> checkpoints() const {
    if (!automatic_) return {order_.size()};
    std::vector<std::size_t> counts;
    for (const double share : {0.1, 0.14, 0.2, 0.28, 0.4, 0.56, 0.8, 1.0}) {
      const auto count = std::max<std::size_t>(
          2, static_cast<std::size_t>(std::llround(share * static_cast<double>(order_.size()))));
      if (counts.empty() || count > counts.back()) counts.push_back(count);
    }
    return counts;
  }

  HalfStacks final_stack(const Plane& reference, const Plane& valid) {
    const FieldEstimator estimator(reference.view(), valid.view(), field_options_);
    HalfStacks stacks(size_);
    HalfStacks best;
    ColourStacks best_colours;
    double most = -1;
    std::size_t first = 0;
    double shift_sum = 0;
    std::size_t stacked = 0;
    for (const std::size_t checkpoint : checkpoints()) {
      for (; first < checkpoint; first += std::min(batch_.size(), checkpoint - first)) {
        progress_.step("stacking", static_cast<std::int64_t>(first),
                       static_cast<std::int64_t>(order_.size()));
        const std::size_t loaded = load(first, std::min(batch_.size(), checkpoint - first), true);
        estimate_batch(estimator, loaded);
        for (std::size_t i = 0; i < loaded; ++i)
          shift_sum += batch_[i].estimate.field.local_rms_px();
        stacked += loaded;
        stacks.add(contributions(loaded));
        if (result_.fused) fusion_.add(contributions(loaded));
        if (in_colour_) colours_.add(colour_contributions(loaded));
        if (illustrator_) note_for_illustration(loaded);
      }
      const KeepStep step = judge(stacks, checkpoint);
      result_.steps.push_back(step);
      if (step.information_bits < most) continue;
      most = step.information_bits;
      kept_count_ = checkpoint;
      if (result_.fused) fuse(stacks);
      if (illustrator_) illustrator_->mark();
      if (automatic_) best = stacks.copy();
      if (automatic_ && in_colour_) best_colours = colours_.copy();
    }
    progress_.step("stacking", static_cast<std::int64_t>(order_.size()),
                   static_cast<std::int64_t>(order_.size()));
    result_.local_shift_rms_px = stacked > 0 ? shift_sum / static_cast<double>(stacked) : 0;
    if (automatic_ && in_colour_) colours_ = std::move(best_colours);
    return automatic_ ? std::move(best) : std::move(stacks);
  }

  void note_for_illustration(std::size_t loaded) {
    for (std::size_t i = 0; i < loaded; ++i) {
      const Loaded& frame = batch_[i];
      illustrator_->add(frame.position, record(frame.position).index, frame.estimate.field,
                        frame.weights, size_);
    }
  }

  // The sharpest frame as the stack takes it in: warped, alone.
  void illustrate() {
    result_.illustration = illustrator_->finish(result_.crop, kept_count_);
    if (illustrator_->best_field().rows() == 0 || load(0, 1, false) == 0) return;
    Loaded& best = batch_[0];
    best.estimate.field = illustrator_->best_field();
    best.weights.assign(best.estimate.field.local_x.size(), 1.0F);
    std::vector<Plane>& out = result_.illustration->best_frame;
    const auto cut = [&](const Plane& plane) {
      return Plane::copy_of(plane.view().crop(result_.crop));
    };
    if (!in_colour_) {
      HalfStacks alone(size_);
      alone.add(contributions(1));
      out.push_back(cut(alone.mean()));
      return;
    }
    ColourStacks alone(size_);
    alone.set_offsets(colours_.offsets());
    alone.add(colour_contributions(1));
    for (int c = 0; c < 3; ++c) out.push_back(cut(alone.mean(c)));
  }

  [[nodiscard]] KeepStep judge(const HalfStacks& stacks, std::size_t count) const {
    const Box box = covered(count);
    const FrcCurve frc = fourier_ring_correlation(stacks.half_mean(0).view().crop(box),
                                                  stacks.half_mean(1).view().crop(box));
    return {static_cast<std::int64_t>(count), frc.information_bits(), frc.resolution().value_or(0)};
  }

  // What at least half of the best `count` frames cover, axis by axis.
  [[nodiscard]] Box covered(std::size_t count) const {
    std::vector<double> x;
    std::vector<double> y;
    for (std::size_t i = 0; i < count; ++i) {
      x.push_back(record(i).shift.x_px - origin_.x_px);
      y.push_back(record(i).shift.y_px - origin_.y_px);
    }
    const auto limits = [](const std::vector<double>& shifts, int length) {
      constexpr int kMargin = 3;
      const double middle = median(shifts);
      const int low = std::clamp(static_cast<int>(std::ceil(-middle)) + kMargin, 0, length - 1);
      const int high =
          std::clamp(static_cast<int>(std::floor(length - middle)) - kMargin, low + 1, length);
      return std::pair{low, high};
    };
    const auto [x0, x1] = limits(x, size_.width_px);
    const auto [y0, y1] = limits(y, size_.height_px);
    return {x0, y0, x1, y1};
  }

  void finish(const HalfStacks& stacks) {
    const Box box = covered(kept_count_);
    result_.crop = options_.whole_frame ? Box{0, 0, size_.width_px, size_.height_px} : box;
    if (!result_.fused) {
      fused_[2] = stacks.mean();
      for (int half = 0; half < 2; ++half) fused_[half] = stacks.half_mean(half);
    }
    const auto cropped = [&](const Plane& plane) {
      return Plane::copy_of(plane.view().crop(result_.crop));
    };
    result_.picture = cropped(fused_[2]);
    for (int half = 0; half < 2; ++half) result_.halves[half] = cropped(fused_[half]);
    for (int c = 0; in_colour_ && c < 3; ++c) {
      ColourResult colour;
      colour.picture = Plane::copy_of(colours_.mean(c).view().crop(result_.crop));
      for (int half = 0; half < 2; ++half) {
        colour.halves[half] = Plane::copy_of(colours_.half_mean(c, half).view().crop(result_.crop));
      }
      colour.dispersion = colours_.offsets()[static_cast<std::size_t>(c)];
      result_.colours.push_back(std::move(colour));
    }
    // From the classic stacks: fused halves share the reference by which they were weighed, errors
    // and all, so their agreement would promise too much.
    const Plane first = stacks.half_mean(0);
    const Plane second = stacks.half_mean(1);
    result_.frc = fourier_ring_correlation(first.view().crop(box), second.view().crop(box));
    const PlaneView a = result_.halves[0].view();
    const PlaneView b = result_.halves[1].view();
    const Box inner = {box.x0 - result_.crop.x0, box.y0 - result_.crop.y0, box.x1 - result_.crop.x0,
                       box.y1 - result_.crop.y0};
    result_.noise = noise_between(a.crop(inner), b.crop(inner));
    for (std::size_t i = 0; i < kept_count_; ++i) result_.kept.push_back(record(i).index);
  }

  // Mean over the pixels on which the noise of the frames was measured.
  [[nodiscard]] double mean_light_of_object(const HalfStacks& stacks) const {
    const Plane picture = stacks.mean();
    const Box box = covered(kept_count_);
    const auto least = static_cast<float>(survey_.target.object);
    double sum = 0;
    double count = 0;
    for (int y = box.y0; y < box.y1; ++y) {
      for (int x = box.x0; x < box.x1; ++x) {
        if (picture.row(y)[x] < least) continue;
        sum += static_cast<double>(picture.row(y)[x]);
        ++count;
      }
    }
    return count > 0 ? sum / count : 0;
  }

  // Variance over light.
  [[nodiscard]] double photon_noise(std::size_t position, double object_light) const {
    const double noise = record(position).noise;
    return object_light > 0 ? noise * noise / object_light : 0;
  }

  // Some of the kept frames, from the best to the worst, against their stack.
  void compare_with_frames(const HalfStacks& stacks) {
    SpectralRatio ratio(covered(kept_count_), store_.info().colour == capture::Colour::cfa);
    const double object_light = mean_light_of_object(stacks);
    const std::size_t count = std::min(kComparedFrames, kept_count_);
    for (std::size_t first = 0; first < count; first += batch_.size()) {
      progress_.step("judging the blur", static_cast<std::int64_t>(first),
                     static_cast<std::int64_t>(count));
      std::vector<std::size_t> positions;
      for (std::size_t i = first; i < std::min(first + batch_.size(), count); ++i)
        positions.push_back(i * kept_count_ / count);
      const std::size_t loaded = load(std::move(positions), true);
      std::vector<SpectralRatio::Part> parts;
      for (std::size_t i = 0; i < loaded; ++i) {
        weigh(batch_[i]);
        parts.push_back({batch_[i].frame.view(), &batch_[i].estimate.field, &batch_[i].weights,
                         batch_[i].estimate.gain, photon_noise(batch_[i].position, object_light)});
      }
      ratio.add(parts);
    }
    result_.ratio = ratio.against(stacks.half_mean(0).view(), stacks.half_mean(1).view());
  }

  // Noise of the mean of two pictures, from their difference: half of its robust deviation.
  static double noise_between(PlaneView a, PlaneView b) {
    std::vector<double> magnitudes;
    for (int y = 0; y < a.height_px; ++y) {
      for (int x = 0; x < a.width_px; ++x)
        magnitudes.push_back(
            std::abs(static_cast<double>(a.row(y)[x]) - static_cast<double>(b.row(y)[x])));
    }
    return 1.482602 * median(std::move(magnitudes)) / 2;
  }

  capture::FrameStore& store_;
  const Survey& survey_;
  const StackOptions& options_;
  const Progress& progress_;
  std::vector<std::size_t> order_;  ///< candidates in rank order: positions in survey_.records
  Size size_;
  bool automatic_ = false;
  bool in_colour_ = false;
  ColourStacks colours_;
  std::size_t first_count_ = 0;
  std::size_t refined_count_ = 0;
  std::size_t kept_count_ = 0;
  Shift origin_;
  double usual_sharpness_ = 1;
  double noise_gain_ = 0;
  align::FieldOptions field_options_;
  std::vector<Loaded> batch_;
  std::vector<FieldEstimate> fields_;
  std::vector<std::vector<float>> reference_weights_;
  FrequencyFusion fusion_;
  Plane fused_[3];  ///< halves and whole
  Plane valid_;
  std::optional<Illustrator> illustrator_;
  StackResult result_;
};

}  // namespace

StackResult stack(capture::FrameStore& frames, const Survey& survey, const StackOptions& options,
                  const Progress& progress) {
  return Stacker(frames, survey, options, progress).run();
}

}  // namespace lull::stack
