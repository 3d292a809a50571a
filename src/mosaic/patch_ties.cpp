#include "mosaic/patch_ties.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "align/patch_correlator.h"
#include "core/parallel.h"

namespace lull::mosaic {

namespace {

// A peak that chance makes is 4 to 5 times the rms of the surface.
constexpr double kLeastPeak = 5;
// Squared error of a tie with a peak of that height, px^2; it falls with the square of the height.
constexpr double kErrorOfLeast = 0.15 * 0.15;
// What the air bends within a patch, of its side: 0.03 px for 48.
constexpr double kLeastError = 0.03 / 48;

// What a panel shows of an overlap: patches lie half over one another, and are read once like this.
class Overlap {
 public:
  // @param places  middles of all patches, at whole pixels from one another.
  Overlap(const Readable& panel, const PanelMap& map, const std::vector<SharedPlace>& places,
          int window_px)
      : window_px_(window_px), first_(places.front().mosaic) {
    Displacement last = first_;
    for (const SharedPlace& place : places) {
      first_ = {std::min(first_.x_px, place.mosaic.x_px), std::min(first_.y_px, place.mosaic.y_px)};
      last = {std::max(last.x_px, place.mosaic.x_px), std::max(last.y_px, place.mosaic.y_px)};
    }
    const Place corner = corner_of(last);
    light_ = Plane(corner.x + window_px, corner.y + window_px);
    const double half = 0.5 * (window_px - 1);
    parallel_for((light_.height() + kBandPx - 1) / kBandPx, [&](std::int64_t band) {
      const int top = static_cast<int>(band) * kBandPx;
      const Box rows{0, top, light_.width(), std::min(top + kBandPx, light_.height())};
      read_part(panel.luminance, map, first_ + Displacement{-half, top - half},
                light_.view().crop(rows));
    });
  }

  [[nodiscard]] PlaneView patch(Displacement middle) const {
    const Place corner = corner_of(middle);
    return light_.view().crop({corner.x, corner.y, corner.x + window_px_, corner.y + window_px_});
  }

 private:
  static constexpr int kBandPx = 64;

  [[nodiscard]] Place corner_of(Displacement middle) const {
    return {static_cast<int>(std::lround(middle.x_px - first_.x_px)),
            static_cast<int>(std::lround(middle.y_px - first_.y_px))};
  }

  int window_px_;
  Displacement first_;  // middle of the patch in the corner
  Plane light_;
};

}  // namespace

std::vector<Tie> patch_ties(const Readable& first, const PanelMap& first_map,
                            const Readable& second, const PanelMap& second_map,
                            const PatchSearch& search) {
  const std::vector<SharedPlace> places =
      shared_places(first_map, second_map, search.window_px, search.spacing_px);
  if (places.empty()) return {};
  const Overlap of_first(first, first_map, places, search.window_px);
  const Overlap of_second(second, second_map, places, search.window_px);
  const double least_error = kLeastError * search.window_px;
  const Size window{search.window_px, search.window_px};
  std::vector<std::optional<Tie>> found(places.size());
  constexpr std::size_t kBlock = 16;  // one correlator each
  const auto blocks = static_cast<std::int64_t>((places.size() + kBlock - 1) / kBlock);
  parallel_for(blocks, [&](std::int64_t block) {
    align::PatchCorrelator correlator(window);
    spectrum::Spectrum reference(window);
    spectrum::Spectrum other(window);
    const std::size_t from = static_cast<std::size_t>(block) * kBlock;
    for (std::size_t i = from; i < std::min(from + kBlock, places.size()); ++i) {
      correlator.transform(of_first.patch(places[i].mosaic), reference);
      correlator.transform(of_second.patch(places[i].mosaic), other);
      const auto peak = correlator.correlate(reference, other, search.reach_px, search.reach_px);
      const bool at_the_rim = std::abs(peak.at.x_px) > search.reach_px - 1 ||
                              std::abs(peak.at.y_px) > search.reach_px - 1;
      if (peak.over_rms < kLeastPeak || at_the_rim) continue;
      const double share = kLeastPeak / peak.over_rms;
      found[i] = Tie{places[i].first, second_map.to_panel(places[i].mosaic + peak.at),
                     1 / (kErrorOfLeast * share * share + least_error * least_error)};
    }
  });
  std::vector<Tie> out;
  for (const auto& tie : found) {
    if (tie) out.push_back(*tie);
  }
  return out;
}

}  // namespace lull::mosaic
