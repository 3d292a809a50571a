#include "stack/picture_set.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/statistics.h"
#include "stack/share_correction.h"

namespace lull::stack {

namespace {

bool has_gaps(PlaneView weight) {
  for (int y = 0; y < weight.height_px; ++y) {
    const float* row = weight.row(y);
    if (std::any_of(row, row + weight.width_px, [](float w) { return !(w > 0); })) return true;
  }
  return false;
}

void fill_gaps(Plane& picture, PlaneView weight, const PictureGrid& grid, const Plane& otherwise) {
  if (!has_gaps(weight)) return;
  const Plane fill = grid.enlarged(otherwise.view());
  for (int y = 0; y < picture.height(); ++y) {
    for (int x = 0; x < picture.width(); ++x) {
      if (!(weight.row(y)[x] > 0)) picture.row(y)[x] = fill.row(y)[x];
    }
  }
}

Plane luminance_of(const Plane& red, const Plane& green, const Plane& blue) {
  Plane out(red.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x)
      out.row(y)[x] = 0.25F * (red.row(y)[x] + 2 * green.row(y)[x] + blue.row(y)[x]);
  }
  return out;
}

Plane cropped(const Plane& plane, const Box& box) { return Plane::copy_of(plane.view().crop(box)); }

}  // namespace

PictureSet means(const Accumulator& sums, int channel) {
  return {sums.mean(channel),
          {sums.half_mean(channel, Half::first), sums.half_mean(channel, Half::second)}};
}

PictureSet means(const Accumulator& sums, int channel, const Accumulator& otherwise) {
  PictureSet out = means(sums, channel);
  fill_gaps(out.whole, sums.weight(channel).view(), sums.grid(), otherwise.mean(channel));
  for (const Half half : kHalves) {
    fill_gaps(out.halves[static_cast<std::size_t>(half)], sums.half_weight(channel, half),
              sums.grid(), otherwise.half_mean(channel, half));
  }
  return out;
}

PictureSet cropped(const PictureSet& from, const Box& box) {
  return {cropped(from.whole, box), {cropped(from.halves[0], box), cropped(from.halves[1], box)}};
}

PictureSet luminance_of(const std::vector<PictureSet>& channels) {
  const PictureSet& first = channels.front();
  if (channels.size() == 1)
    return cropped(first, {0, 0, first.whole.width(), first.whole.height()});
  const PictureSet& green = channels[1];
  const PictureSet& blue = channels[2];
  return {luminance_of(first.whole, green.whole, blue.whole),
          {luminance_of(first.halves[0], green.halves[0], blue.halves[0]),
           luminance_of(first.halves[1], green.halves[1], blue.halves[1])}};
}

void share_correction(const PictureSet& before, const PictureSet& after, PictureSet& colour,
                      const Box& measured) {
  share_correction(before.whole.view(), after.whole.view(), colour.whole.view(), measured);
  for (std::size_t i = 0; i < colour.halves.size(); ++i) {
    share_correction(before.halves[i].view(), after.halves[i].view(), colour.halves[i].view(),
                     measured);
  }
}

double noise_between(PlaneView a, PlaneView b) {
  std::vector<double> magnitudes;
  magnitudes.reserve(static_cast<std::size_t>(a.width_px) * static_cast<std::size_t>(a.height_px));
  for (int y = 0; y < a.height_px; ++y) {
    for (int x = 0; x < a.width_px; ++x)
      magnitudes.push_back(
          std::abs(static_cast<double>(a.row(y)[x]) - static_cast<double>(b.row(y)[x])));
  }
  return kMadToSigma * upper_median(std::move(magnitudes)) / 2;
}

}  // namespace lull::stack
