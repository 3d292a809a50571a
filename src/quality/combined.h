#pragma once

#include <array>
#include <string>
#include <vector>

#include "quality/measure.h"
#include "quality/ranking.h"

namespace lull::quality {

/// What stands for several measures together where a name of one is expected.
inline constexpr const char* kTogether = "auto";

/// The measures that rank a capture together where none is asked for, finest first.
inline constexpr std::array kCombined = {Metric::finest, Metric::fine, Metric::coarse};

static_assert(kCombined.size() <= kMostMeasures);

/// Standard deviation of the noise as of the frames around: the median over 101 usable frames. A
/// frame's own estimate has an error of some percent, by which a faint frame would be ranked.
/// @return one value for each record, that of the record itself where it is not usable.
[[nodiscard]] std::vector<double> usual_noise(const std::vector<FrameRecord>& records);

/// Shares of the measures of kCombined in the sharpness of a capture's frames; their sum is 1.
using Shares = std::array<double, kCombined.size()>;

/// "finest 62%, fine 30%, coarse 8%"
[[nodiscard]] std::string shares_text(const Shares& shares);

/// Sharpness from several measures, weighted by the inverse of the variance that each has as a
/// measure of sharpness. A finer measure follows sharpness better as long as its energy swings by
/// more than noise adds. The square of its error, in squares of its swing, is the sum of three:
/// 1/50, times 3 for each coarser measure of kCombined; (a quarter of the noise's energy over the
/// swing) to the power 4; and 11 times (1 - r^2) to the power 3, where r is its rank correlation
/// with the coarsest measure: what follows the noise, or the place of a limb, goes ways of its own.
/// A measure counts at most 3 swings more than the lowest of those with a share over a tenth.
/// Figures and alternatives are in bench/DECISIONS.md.
class CombinedSharpness {
 public:
  using Gains = std::array<double, kCombined.size()>;  ///< noise_gain() of each of kCombined

  /// @param frames  those that are usable, by each of kCombined.
  /// @param as      one of kCombined: the values have its median and its swing.
  CombinedSharpness(const std::vector<const FrameEnergies*>& frames, const Gains& gains, Metric as);

  [[nodiscard]] const Shares& shares() const { return shares_; }

  [[nodiscard]] double operator()(const FrameEnergies& frame) const;

 private:
  // One measure over the frames of a capture.
  struct Band {
    double gain = 0;
    double median = 0;
    double swing = 0;  // standard deviation, from the median absolute deviation
    double noise = 0;  // typical energy of the noise
    std::vector<double> values;
  };

  [[nodiscard]] static Band band_of(const std::vector<const FrameEnergies*>& frames,
                                    std::size_t measure, double gain);

  std::array<Band, kCombined.size()> bands_;
  Shares shares_{};
  std::size_t unit_;  // position in kCombined
};

}  // namespace lull::quality
