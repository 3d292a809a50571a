#include "mosaic/patch_ties.h"

#include <cmath>
#include <complex>
#include <optional>

#include "align/patch_correlator.h"
#include "core/parallel.h"

namespace lull::mosaic {

namespace {

// A peak that chance makes is 4 to 5 times the rms of the surface.
constexpr double kLeastPeak = 7;
// Squared error of a tie with a peak of that height, px^2; it falls with the square of the height.
constexpr double kErrorOfLeast = 0.15 * 0.15;
constexpr double kLeastError = 0.03 * 0.03;

struct Middle {
  Displacement mosaic;
  Displacement first;
  Displacement second;
};

std::vector<Middle> middles_of(const PanelMap& first, const PanelMap& second,
                               const PatchSearch& search) {
  const Box box = outline(first).intersection(outline(second));
  const double margin = 0.5 * search.window_px + 2;
  const auto begin = [&](int from) {
    return (from + search.spacing_px - 1) / search.spacing_px * search.spacing_px;
  };
  std::vector<Middle> out;
  for (int y = begin(box.y0); y < box.y1; y += search.spacing_px) {
    for (int x = begin(box.x0); x < box.x1; x += search.spacing_px) {
      const Displacement at{static_cast<double>(x), static_cast<double>(y)};
      const Middle middle{at, first.to_panel(at), second.to_panel(at)};
      if (is_inside(first.panel, middle.first, margin / first.scale()) &&
          is_inside(second.panel, middle.second, margin / second.scale()))
        out.push_back(middle);
    }
  }
  return out;
}

// A patch about a place of the panel, upright as the mosaic.
void read_patch(const Readable& panel, const PanelMap& map, Displacement middle, Plane& out) {
  const std::complex<double> step = 1.0 / map.factor;
  const double half = 0.5 * (out.width() - 1);
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      const std::complex<double> at = step * std::complex<double>(x - half, y - half);
      out.row(y)[x] = panel.luminance.at(middle.x_px + at.real(), middle.y_px + at.imag());
    }
  }
}

}  // namespace

std::vector<Tie> patch_ties(const Readable& first, const PanelMap& first_map,
                            const Readable& second, const PanelMap& second_map,
                            const PatchSearch& search) {
  const std::vector<Middle> middles = middles_of(first_map, second_map, search);
  const Size window{search.window_px, search.window_px};
  std::vector<std::optional<Tie>> found(middles.size());
  constexpr std::size_t kBlock = 16;  // one correlator each
  const auto blocks = static_cast<std::int64_t>((middles.size() + kBlock - 1) / kBlock);
  parallel_for(blocks, [&](std::int64_t block) {
    align::PatchCorrelator correlator(window);
    Plane patch(window);
    spectrum::Spectrum reference(window);
    spectrum::Spectrum other(window);
    const std::size_t from = static_cast<std::size_t>(block) * kBlock;
    for (std::size_t i = from; i < std::min(from + kBlock, middles.size()); ++i) {
      read_patch(first, first_map, middles[i].first, patch);
      correlator.transform(patch.view(), reference);
      read_patch(second, second_map, middles[i].second, patch);
      correlator.transform(patch.view(), other);
      const auto peak = correlator.correlate(reference, other, search.reach_px, search.reach_px);
      const bool at_the_rim = std::abs(peak.at.x_px) > search.reach_px - 1 ||
                              std::abs(peak.at.y_px) > search.reach_px - 1;
      if (peak.over_rms < kLeastPeak || at_the_rim) continue;
      const double share = kLeastPeak / peak.over_rms;
      found[i] = Tie{middles[i].first, second_map.to_panel(middles[i].mosaic + peak.at),
                     1 / (kErrorOfLeast * share * share + kLeastError)};
    }
  });
  std::vector<Tie> out;
  for (const auto& tie : found) {
    if (tie) out.push_back(*tie);
  }
  return out;
}

}  // namespace lull::mosaic
