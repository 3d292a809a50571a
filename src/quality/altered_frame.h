#pragma once

#include <cstdint>

#include "capture/capture.h"
#include "capture/frame.h"

namespace lull::quality {

/// What would have been recorded under other circumstances: behind thin cloud, or with more noise.
struct Alteration {
  double dimming = 1;      ///< factor for the light above `sky`
  double sky = 0;          ///< light that does not get dimmer
  double noise_sigma = 0;  ///< white Gaussian noise to add to every sample, light; negative: the
                           ///< same noise with its sign turned
  std::uint64_t seed = 0;  ///< of the noise
};

/// How altered frames turn into light: the capture's info with 16-bit samples above a pedestal, so
/// that neither rounding nor clipping of the samples adds to what is altered. Samples that were
/// saturated still are.
[[nodiscard]] capture::CaptureInfo altered_info(const capture::CaptureInfo& info,
                                                const Alteration& alteration);

/// The frame altered, to be read with altered_info(). Same frame and seed, same result.
[[nodiscard]] capture::Frame altered(const capture::Frame& frame, const capture::CaptureInfo& info,
                                     const Alteration& alteration);

}  // namespace lull::quality
