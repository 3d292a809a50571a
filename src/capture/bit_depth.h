#pragma once

#include <array>
#include <cstdint>

#include "capture/frame.h"

namespace lull::capture {

/// Position of the used bits in 16-bit words.
struct TrueDepth {
  int bits = 16;
  bool high_aligned = false;
  double full_scale = 65535;  ///< stored value of a saturated sample; black is 0
  bool header_was_wrong = false;

  [[nodiscard]] SampleScale scale() const { return {0.0, 1.0 / full_scale}; }
};

/// Finds from 16-bit samples how many bits the sensor used. Capture programs store them in one of
/// three ways: used bits at the low end, at the high end with zeros below, or at the high
/// end with the top bits repeated below (full scale is then 65535).
class BitDepthEstimator {
 public:
  /// Adds every sample of a frame of u16 planes.
  void add(const Frame& frame);

  /// @param stated_bits  of the header, 1 to 15; 0 or 16 = not stated. Used where the samples allow
  ///                     it.
  /// Where not stated, the depth at the low end follows from the largest sample: 10 and 8 bits only
  /// when samples pile up at the top value, else 12, 14 or 16, the common converters (common
  /// practice, no source).
  [[nodiscard]] TrueDepth estimate(int stated_bits) const;

 private:
  static constexpr std::array<int, 3> kRepeatable = {10, 12, 14};
  static constexpr std::array<int, 2> kNarrow = {8, 10};

  std::uint16_t used_ = 0;                   ///< bits that were ever set
  std::array<std::uint16_t, 3> mismatch_{};  ///< bits that contradict repetition, by kRepeatable
  std::array<std::int64_t, 2> at_top_{};     ///< samples at full scale, by kNarrow
};

}  // namespace lull::capture
