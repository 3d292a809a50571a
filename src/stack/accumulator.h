#pragma once

#include <array>
#include <memory>
#include <vector>

#include "core/plane.h"
#include "stack/contribution.h"
#include "stack/sampler.h"

namespace lull::stack {

/// What a mean shows at pixels without weight.
enum class Gaps {
  zero,
  neighbours,  ///< the mean of the nearest pixels with weight, up to 2 px away; beyond, 0
};

/// Weighted sums of two disjoint halves of the frames, channel by channel, on the grid of their
/// sampler.
class Accumulator {
 public:
  /// @param channels  1, or 3: red, green and blue.
  Accumulator(std::shared_ptr<const Sampler> sampler, int channels, Gaps gaps = Gaps::zero);

  /// Nothing yet, by the same sampler.
  [[nodiscard]] Accumulator like() const;

  [[nodiscard]] Accumulator copy() const;

  [[nodiscard]] const PictureGrid& grid() const { return sampler_->grid(); }

  [[nodiscard]] int channels() const { return static_cast<int>(sums_.size()); }

  /// Offset of the detail of each channel from that of the luminance, px: dispersion.
  void set_offsets(const std::array<Displacement, 3>& offsets) { offsets_ = offsets; }

  [[nodiscard]] const std::array<Displacement, 3>& offsets() const { return offsets_; }

  /// Adds frames, in the order given; areas of the picture run in parallel, so any number of
  /// threads gives the same sums.
  void add(const std::vector<Contribution>& batch);

  /// Weighted mean of both halves.
  [[nodiscard]] Plane mean(int channel = 0) const;

  /// Weighted mean of one half.
  [[nodiscard]] Plane half_mean(int channel, Half half) const;

  /// Sum of weights of both halves, and of one.
  [[nodiscard]] Plane weight(int channel = 0) const;
  [[nodiscard]] PlaneView half_weight(int channel, Half half) const;

  /// 1 where both halves hold data of the first channel, 0 elsewhere.
  [[nodiscard]] Plane valid() const;

 private:
  struct Sums {
    Plane light;
    Plane weight;
  };

  [[nodiscard]] Sums& sums(int channel, Half half) {
    return sums_[static_cast<std::size_t>(channel)][static_cast<std::size_t>(half)];
  }

  [[nodiscard]] const Sums& sums(int channel, Half half) const {
    return sums_[static_cast<std::size_t>(channel)][static_cast<std::size_t>(half)];
  }

  std::shared_ptr<const Sampler> sampler_;
  Gaps gaps_;
  std::array<Displacement, 3> offsets_;
  std::vector<std::array<Sums, 2>> sums_;  ///< channel, half
};

}  // namespace lull::stack
