#pragma once

#include <variant>
#include <vector>

#include "core/plane.h"
#include "finish/place_gains.h"
#include "spectrum/continuation.h"
#include "spectrum/radial_filter.h"

namespace lull::finish {

/// Noise of a picture: a plane of nothing else, as large (see half_difference()), or, where there
/// is none, the standard deviation of white noise.
using Noise = std::variant<PlaneView, double>;

/// Half of the difference of the half stacks: the noise of the whole stack, without its signal.
/// @param first,second  equal sizes.
[[nodiscard]] Plane half_difference(PlaneView first, PlaneView second);

/// A picture made ready for restoring its detail several times, with different filters and of
/// different parts: what depends on neither is done once. Holds 12 planes of the picture's size.
/// Any thread.
class PreparedDetail {
 public:
  /// How far from a part other pixels change it noticeably: as far as the wavelet planes reach, and
  /// a few times as far as a usual blur.
  static constexpr int kReachPx = 96;

  PreparedDetail(PlaneView picture, const Noise& noise);

  /// restore_detail() of a part of the picture. Of the whole picture to the bit, of a part nearly:
  /// what lies farther than kReachPx from it is not looked at.
  /// @param places  squares of the picture that are raised further. @param part  within the
  /// picture, not empty.
  [[nodiscard]] Plane restored(const std::vector<spectrum::FilterPoint>& gains,
                               const std::vector<PlaceGains>& places, double restraint,
                               const Box& part) const;

 private:
  [[nodiscard]] Plane sharpened(PlaneView sharp, const Box& around, const Box& wanted,
                                double restraint) const;

  spectrum::Extended canvas_;
  std::vector<Plane> planes_;   ///< of wavelets, finest first
  std::vector<Plane> certain_;  ///< share of the power of each that is not noise, by place
};

/// Restores detail with an isotropic filter. The change is split into wavelet planes. Where a plane
/// does not exceed its noise, it is left unchanged. Total flux is kept if the gain at frequency 0
/// is 1.
/// @param restraint  1: as described; 0: the full filter; between them a mixture.
[[nodiscard]] Plane restore_detail(PlaneView picture,
                                   const std::vector<spectrum::FilterPoint>& gains,
                                   const Noise& noise, double restraint = 1);

}  // namespace lull::finish
