#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "core/geometry.h"

namespace lull::stack {

/// The bins of the half spectra of planes of one size, sorted into rings of equal width from 0 to
/// 0.5 cycles/px.
class RingBins {
 public:
  /// @param rings  under 65536.
  RingBins(Size plane, std::size_t rings);

  [[nodiscard]] std::size_t rings() const { return rings_; }

  /// Bins of a half spectrum, row by row.
  [[nodiscard]] std::size_t count() const { return ring_of_.size(); }

  /// Adds the sums over the rings of the full spectrum, times a factor.
  /// @param by_bin  count() values. @param sums  rings() of them.
  void add(const std::vector<float>& by_bin, double factor, double* sums) const;

 private:
  std::size_t rings_;
  std::vector<std::uint16_t> ring_of_;  ///< rings_: in the corners, beyond the last ring
  std::vector<float> multiplicity_;
};

}  // namespace lull::stack
