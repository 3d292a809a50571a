#include "judge/judge.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/error.h"
#include "judge/artifacts.h"
#include "judge/distortion.h"
#include "judge/registration.h"
#include "judge/transforms.h"

namespace lull::judge {

namespace {

constexpr int kSmallestSidePx = 32;
constexpr int kMarginPx = 3;
/// A picture may be so many times larger than the truth with its rim, at its scale. Bounds time.
constexpr int kMostTimesTruth = 3;
/// Rule of thumb, no source: the poorest test stacks reach 0.8, noise and turned pictures 0.11.
constexpr double kLowestCorrelation = 0.2;

bool is_constant(const Image& image, const Box& line) {
  for (int y = line.y0; y < line.y1; ++y) {
    for (int x = line.x0; x < line.x1; ++x) {
      if (image.at(x, y) != image.at(line.x0, line.y0)) return false;
    }
  }
  return true;
}

/// Without constant rows and columns at the edges, which are padding.
Box box_without_padding(const Image& image) {
  const int width = image.width_px;
  Box box = {0, 0, width, image.height_px};
  const auto tall = [&] { return box.height_px() > kSmallestSidePx; };
  const auto wide = [&] { return box.width_px() > kSmallestSidePx; };
  while (tall() && is_constant(image, {0, box.y0, width, box.y0 + 1})) ++box.y0;
  while (tall() && is_constant(image, {0, box.y1 - 1, width, box.y1})) --box.y1;
  while (wide() && is_constant(image, {box.x0, box.y0, box.x0 + 1, box.y1})) ++box.x0;
  while (wide() && is_constant(image, {box.x1 - 1, box.y0, box.x1, box.y1})) --box.x1;
  return box;
}

std::vector<Image> channels_without_padding(const files::Picture& picture) {
  std::vector<Image> channels;
  for (const Plane& plane : picture.channels) channels.push_back(image_of(plane.view()));
  const Box box = box_without_padding(mean_of(channels));
  for (Image& channel : channels) channel = crop(channel, box);
  return channels;
}

void refuse_too_large(Size size, Size truth, double largest_scale) {
  const double most = kMostTimesTruth * largest_scale;
  if (size.width_px <= most * truth.width_px && size.height_px <= most * truth.height_px) return;
  throw InputError(fmt::format(
      "the result has {} x {} pixels, more than {} times the truth's {} x {}: it cannot be a "
      "picture of the same capture",
      size.width_px, size.height_px, most, truth.width_px, truth.height_px));
}

void refuse_too_small(Size size, double scale) {
  const double least = kSmallestSidePx * scale;
  if (size.width_px >= least && size.height_px >= least) return;
  throw InputError(
      fmt::format("the result has {} x {} pixels without padding; at least {} x {} are needed",
                  size.width_px, size.height_px, least, least));
}

/// The picture at the truth's scale, and where it was found.
struct Placed {
  double scale = 1;
  std::vector<Image> channels;
  Image mean;
  CoarseMatch match;
};

Placed place(const std::vector<Image>& channels, const Truth& truth, double scale) {
  Placed placed;
  placed.scale = scale;
  for (const Image& channel : channels) placed.channels.push_back(reduced(channel, scale));
  placed.mean = mean_of(placed.channels);
  placed.match = find_coarse(placed.mean, truth.mean_samples);
  // To coordinates without the rim.
  placed.match.shift = placed.match.shift + Displacement{static_cast<double>(truth.rim_px),
                                                         static_cast<double>(truth.rim_px)};
  return placed;
}

/// Too small to have been enlarged by this: it would show less than half of the scene.
bool is_too_small(Size size, Size truth, double scale) {
  const double shorter = std::min(size.width_px, size.height_px) / scale;
  return shorter < kSmallestSidePx || shorter < 0.45 * std::min(truth.width_px, truth.height_px);
}

/// Larger scales must fit clearly better.
Placed place_at_best_scale(const std::vector<Image>& channels, const Truth& truth,
                           std::optional<double> scale) {
  const Size size = channels.front().size();
  const Size scene = truth.mean_samples.size();
  refuse_too_small(size, scale.value_or(1));
  if (scale) return place(channels, truth, *scale);
  Placed best = place(channels, truth, 1);
  for (const double larger : {kScales[1], kScales[2], kScales[3]}) {
    if (is_too_small(size, scene, larger)) continue;
    Placed placed = place(channels, truth, larger);
    if (placed.match.correlation > best.match.correlation + 0.02) best = std::move(placed);
  }
  return best;
}

/// Where the picture shows the truth's box.
Box seen_box(const Truth& truth, Size picture, Displacement shift) {
  const Box& box = truth.box;
  const auto up = [](double v) { return static_cast<int>(std::ceil(v)); };
  const auto down = [](double v) { return static_cast<int>(std::floor(v)); };
  const Box moved = {up(box.x0 + shift.x_px), up(box.y0 + shift.y_px), down(box.x1 + shift.x_px),
                     down(box.y1 + shift.y_px)};
  return moved.intersection(
      {kMarginPx, kMarginPx, picture.width_px - kMarginPx, picture.height_px - kMarginPx});
}

void check_overlap(const Placed& placed, const Box& box) {
  if (placed.match.correlation < kLowestCorrelation) {
    throw InputError(fmt::format(
        "the result does not show the truth's scene: their best correlation is {:.2f}, at least "
        "{} is needed; is it a picture of another capture, turned or mirrored?",
        placed.match.correlation, kLowestCorrelation));
  }
  if (box.width_px() < kSmallestSidePx || box.height_px() < kSmallestSidePx) {
    throw InputError(fmt::format(
        "the result and the truth's box overlap by {} x {} px only, at least {} x {} are needed",
        std::max(box.width_px(), 0), std::max(box.height_px(), 0), kSmallestSidePx,
        kSmallestSidePx));
  }
}

/// One channel of the picture and what it is compared with.
struct Pair {
  const Truth& truth;
  const Spline& spline;
  const Image& whole;
  Image picture;  ///< the box of it
  Box box;
  Displacement shift;
  double cutoff = 0;
};

ChannelVerdict judge_channel(const Pair& pair) {
  ChannelVerdict verdict;
  verdict.shift = pair.shift;
  verdict.truth = pair.truth.seen(pair.spline, pair.box, pair.shift);
  verdict.measures = measure(verdict.truth, pair.picture, pair.cutoff);
  verdict.fitted = applied(verdict.measures.fit, pair.picture);
  const auto truth_at = [&pair](const Image& field_x, const Image& field_y) {
    return pair.truth.seen(pair.spline, pair.box, pair.shift, field_x, field_y);
  };
  const Distortion field = find_distortion(truth_at, pair.picture, pair.cutoff);
  const Image followed = truth_at(field.x, field.y);
  verdict.distortion_rms_px = field.rms_px;
  verdict.without_distortion = measure(followed, pair.picture, pair.cutoff);
  // In the picture's geometry, so that distortion counts neither as ringing nor as seams.
  verdict.ringing = ringing(followed, pair.picture, pair.cutoff);
  const Range range = range_of(followed);
  const double peak = (range.highest - std::min(range.lowest, 0.0)) /
                      std::max(std::abs(verdict.without_distortion.fit.gain), 1e-300);
  verdict.seam = seams(matched_radially(followed, pair.picture, pair.cutoff), pair.picture, peak);
  const Box whole = {0, 0, pair.whole.width_px, pair.whole.height_px};
  verdict.edge = edge_error(pair.truth.seen(pair.spline, whole, pair.shift), pair.whole);
  return verdict;
}

}  // namespace

Verdict judge(const files::Picture& picture, const Truth& truth, const JudgeOptions& options) {
  refuse_too_large(picture.size(), truth.mean.size(), options.scale.value_or(kScales[3]));
  const std::vector<Image> channels = channels_without_padding(picture);
  const Placed placed = place_at_best_scale(channels, truth, options.scale);
  const Size size = placed.mean.size();
  const Box coarse_box = seen_box(truth, size, placed.match.shift);
  check_overlap(placed, coarse_box);
  Verdict verdict;
  verdict.scale = placed.scale;
  verdict.coarse_correlation = placed.match.correlation;
  verdict.shift =
      refine_shift(truth, truth.mean, placed.mean, placed.match.shift, coarse_box, truth.cutoff);
  const Box box = seen_box(truth, size, verdict.shift);
  check_overlap(placed, box);
  verdict.coverage =
      static_cast<double>(Size{box.width_px(), box.height_px()}.area_px()) /
      static_cast<double>(Size{truth.box.width_px(), truth.box.height_px()}.area_px());
  if (placed.channels.size() != 3 || truth.channels.size() != 3) {
    const Pair pair = {truth, truth.mean,    placed.mean, crop(placed.mean, box),
                       box,   verdict.shift, truth.cutoff};
    verdict.channels.push_back(judge_channel(pair));
    return verdict;
  }
  for (std::size_t c = 0; c < 3; ++c) {
    const double cutoff = truth.cutoff / truth.relative_wavelengths[c];
    const Spline& spline = truth.channels[c];
    const Pair pair = {
        truth,         spline, placed.channels[c], crop(placed.channels[c], box), box,
        verdict.shift, cutoff};
    verdict.channels.push_back(judge_channel(pair));
    verdict.channels.back().shift =
        refine_shift(truth, spline, placed.channels[c], verdict.shift, box, cutoff);
  }
  return verdict;
}

}  // namespace lull::judge
