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

}  // namespace

std::vector<Tie> patch_ties(const Readable& first, const PanelMap& first_map,
                            const Readable& second, const PanelMap& second_map,
                            const PatchSearch& search) {
  const std::vector<SharedPlace> places =
      shared_places(first_map, second_map, search.window_px, search.spacing_px);
  const double least_error = kLeastError * search.window_px;
  const Size window{search.window_px, search.window_px};
  std::vector<std::optional<Tie>> found(places.size());
  constexpr std::size_t kBlock = 16;  // one correlator each
  const auto blocks = static_cast<std::int64_t>((places.size() + kBlock - 1) / kBlock);
  parallel_for(blocks, [&](std::int64_t block) {
    align::PatchCorrelator correlator(window);
    Plane patch(window);
    spectrum::Spectrum reference(window);
    spectrum::Spectrum other(window);
    const std::size_t from = static_cast<std::size_t>(block) * kBlock;
    for (std::size_t i = from; i < std::min(from + kBlock, places.size()); ++i) {
      read_patch(first.luminance, first_map, places[i].mosaic, patch);
      correlator.transform(patch.view(), reference);
      read_patch(second.luminance, second_map, places[i].mosaic, patch);
      correlator.transform(patch.view(), other);
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
