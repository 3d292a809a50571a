#pragma once

#include <memory>

#include "stack/placed_row.h"

namespace lull::stack {

/// Where sums of one channel are taken, along one row of the picture.
struct SumsRow {
  float* light = nullptr;   ///< weight times light
  float* weight = nullptr;  ///< weight
};

/// How samples of a frame are resampled to the grid of a picture. Safe to use from several threads.
class Sampler {
 public:
  explicit Sampler(PictureGrid grid) : grid_(std::move(grid)) {}

  virtual ~Sampler() = default;
  Sampler(const Sampler&) = delete;
  Sampler& operator=(const Sampler&) = delete;

  [[nodiscard]] const PictureGrid& grid() const { return grid_; }

  /// Adds what a channel of a frame shows along a row.
  /// @param row  placed in the frame and weighed. @param gain  factor of the samples.
  virtual void add(const ChannelSamples& samples, float gain, PlacedRow& row,
                   SumsRow sums) const = 0;

 private:
  PictureGrid grid_;
};

/// Interpolates the frame at each pixel of the picture by cubic convolution. All pixels of the
/// frame hold the channel.
[[nodiscard]] std::shared_ptr<const Sampler> warp_sampler(Size reference);

/// For mosaics, without a demosaic: each sample is added to the four pixels around its registered
/// position, by its nearness to each. The movement of the frames fills the gaps of a single frame
/// (Fruchter & Hook 2002, Publications of the Astronomical Society of the Pacific 114, 144, with a
/// tent instead of a square drop).
[[nodiscard]] std::shared_ptr<const Sampler> mosaic_sampler(Size reference);

/// For finer grids: each sample is shrunk to a square drop at the position that its field gives. It
/// is added to the pixels it overlaps, weighted by the area of overlap (variable-pixel linear
/// reconstruction: Fruchter & Hook 2002). Nothing is interpolated, and a sample of a mosaic falls
/// into its own colour only. Drops stay upright squares: fields turn and stretch by far less than a
/// drop. A frame of weight 1 adds pixfrac^2 of weight to a pixel on the mean.
/// @param pixfrac  side of a drop, frame pixels.
[[nodiscard]] std::shared_ptr<const Sampler> drop_sampler(PictureGrid grid, double pixfrac);

}  // namespace lull::stack
