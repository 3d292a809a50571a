#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "capture/capture.h"
#include "core/progress.h"
#include "core/samples.h"

namespace lull::calibrate {

/// Noise of single frames, from pairs of frames of the same uniform light: what is fixed in the
/// sensor (dust, vignetting, unequal pixels, patterns) cancels in their difference.
struct PairNoise {
  double mean_adu = 0;       ///< of the frames, where the variance was measured
  double variance_adu2 = 0;  ///< of one frame
  std::int64_t samples = 0;  ///< that the variance rests on

  /// Together with another pair's, weighted by samples.
  void add(const PairNoise& other);
};

/// Half the variance of the difference of two frames, by tiles of 32 same-colour pixels a side. In
/// each tile the mean and the part proportional to the level are first removed from the difference,
/// so that a lamp that flickers or drifts does no harm, even where pixels are unequal. At equal
/// variances the noise of difference and sum is uncorrelated, so none of it is lost. Samples beyond
/// 5 sigma (hits, unsteady pixels) are left out. So are saturated ones, since clipping hides noise,
/// with their tile where they are more than 1 in 50. Unit: the stored one. Source of the method:
/// Janesick, Photon Transfer, SPIE Press 2007 (from memory).
/// @param first,second  equal sizes and types.
/// @param step  distance of same-colour neighbours: 1, or 2 on a mosaic.
[[nodiscard]] PairNoise pair_noise(SampleView first, SampleView second, int step,
                                   double saturated_from);

/// The same over the first pairs of neighbouring frames of a capture, at most 16, all planes
/// together; in ADU of the sensor, so frames at the high end of a word are scaled down. Reads
/// `source` from its start. none: under two frames, or all of it saturated.
[[nodiscard]] std::optional<PairNoise> pair_noise(capture::Capture& source,
                                                  const Progress& progress = {});

/// What a sensor makes of its electrons.
struct PhotonTransfer {
  double gain_e_per_adu = 0;
  double gain_sigma = 0;  ///< standard deviation of the gain, from the counts of samples
  std::optional<double> read_noise_e;  ///< none: under half a step of quantisation, so not known
};

/// Shot noise grows with light: gain = (flat - dark) / (variance of flat - variance of dark); the
/// noise of the dark, less the 1/12 of quantisation (Bennett 1948, from memory), is read noise.
/// Darks with less noise than a quantisation step do not show it; 1/12 is then used.
/// @param dark  noise of single darks; without, `dark_level_adu` alone is known of them.
/// @return none when the flat is not brighter or not noisier than the dark.
[[nodiscard]] std::optional<PhotonTransfer> photon_transfer(const PairNoise& flat,
                                                            const std::optional<PairNoise>& dark,
                                                            double dark_level_adu);

}  // namespace lull::calibrate
