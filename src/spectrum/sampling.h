#pragma once

namespace lull::spectrum {

/// What is left of the amplitude of a picture when many frames are summed at places that lie
/// anywhere between their samples: the Fourier transform of what interpolates, the mean over all
/// directions. Frequencies in cycles/px of a frame; 1 at 0.

/// Keys' cubic convolution (a = -1/2), by which frames are warped (Keys 1981, IEEE Trans.
/// Acoustics, Speech and Signal Processing 29, 1153).
[[nodiscard]] double cubic_transfer(double frequency);

/// Cubic B-spline interpolation, by which globes are turned (Unser 1999, IEEE Signal Processing
/// Magazine 16(6), 22: the cardinal spline).
[[nodiscard]] double spline_transfer(double frequency);

/// Samples weighted by a tent one pixel wide to either side, as those of a mosaic are.
[[nodiscard]] double tent_transfer(double frequency);

/// Square drops of this side.
[[nodiscard]] double drop_transfer(double frequency, double side_px);

/// Power that smoothing by [1 2 1] / 4 along one axis leaves at a frequency of that axis, as the
/// luminance of a mosaic is smoothed.
[[nodiscard]] double smoothing_power(double frequency);

}  // namespace lull::spectrum
