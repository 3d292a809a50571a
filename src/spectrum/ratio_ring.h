#pragma once

namespace lull::spectrum {

/// Powers of a stack and of its frames on one ring of spatial frequencies, both without noise.
struct RatioRing {
  double frequency = 0;    ///< centre of the ring, cycles/px
  double kept_power = 0;   ///< of the stack, without noise; negative where that prevails.
                           ///< What interpolation took of it is put back.
  double frame_power = 0;  ///< likewise
  double frame_noise = 0;  ///< power of the noise that was subtracted from the frames
  double mean_power = 0;   ///< of the mean of the frames, each of their patches moved as a whole
  double smoothing = 1;    ///< of all powers: left by the luminance of a mosaic
  /// The same of frames taken evenly over the capture, good or bad, all with the same weight; 0
  /// where it was not measured.
  double capture_power = 0;
  double capture_noise = 0;
  double capture_mean_power = 0;
};

}  // namespace lull::spectrum
