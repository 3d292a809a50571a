#pragma once

#include <complex>
#include <vector>

#include "judge/image.h"

namespace lull::judge {

/// Discrete Fourier transform of an image, all H x W bins, row-major, zero frequency first.
[[nodiscard]] std::vector<std::complex<double>> fourier(const Image& image);

/// Signed frequency of bin i of n, cycles/px, in [-0.5, 0.5).
[[nodiscard]] double fourier_frequency(int i, int n);

/// Correlation with zeros around: result(d) = sum over x of a(x) b(x - d), periodic in `size`,
/// which is at least the sum of both sizes.
[[nodiscard]] Image correlate(const Image& a, const Image& b, Size size);

/// The smallest length >= n whose only prime factors are 2, 3 and 5.
[[nodiscard]] int fast_length(int n);

/// Discrete cosine transform of type II with orthonormal scale; coefficient k of n has frequency
/// k/2n cycles/px. The image is mirrored at its edges, the edge sample twice.
[[nodiscard]] Image cosine(const Image& image);

/// Undoes cosine().
[[nodiscard]] Image inverse_cosine(const Image& coefficients);

/// Gaussian of standard deviation sigma_px, sampled, cut at `truncate` sigma (rounded to whole px)
/// and normalised to sum 1; borders mirrored, the edge sample twice. Computed by its gain on
/// cosines, which is exact for these borders: scipy.ndimage.gaussian_filter gives the same.
[[nodiscard]] Image gaussian_blur(const Image& image, double sigma_px, double truncate = 4);

/// Scales that are looked for where none is given, and that reduced() handles by transforms alone.
inline constexpr double kScales[] = {1, 1.5, 2, 3};

/// Band-limited reduction by `scale` (1 or more) on cosines. Pixel i of the result shows
/// (i + 0.5) * scale - 0.5 of the image; rows and columns that fill no whole step are left out.
[[nodiscard]] Image reduced(const Image& image, double scale);

}  // namespace lull::judge
