#pragma once

namespace lull::stack {

/// A picture larger than the frames.
struct Enlargement {
  double scale = 1;    ///< pixels of the picture for one of a frame, along a side
  double pixfrac = 1;  ///< side of a drop, frame pixels

  /// Standard deviation of the noise over areas much larger than a pixel, over that which the noise
  /// of a pixel would make there if pixels were independent: drops that fall on several pixels
  /// correlate their noise (Fruchter & Hook 2002, eqs. 9 and 10; r = pixfrac * scale).
  [[nodiscard]] double noise_correlation() const {
    const double r = pixfrac * scale;
    return r >= 1 ? r / (1 - 1 / (3 * r)) : 1 / (1 - r / 3);
  }
};

}  // namespace lull::stack
