#pragma once

#include <array>
#include <cstdint>

#include "capture/frame.h"

namespace lull::capture {

/// Where the used bits of samples in 16-bit words stand.
struct TrueDepth {
  int bits = 16;
  bool high_aligned = false;
  double full_scale = 65535;  ///< stored value of a saturated sample; black is 0
  bool header_was_wrong = false;

  [[nodiscard]] SampleScale scale() const { return {0.0, 1.0 / full_scale}; }
};

/// Looks at 16-bit samples and finds how many bits the sensor used. Three habits of capture
/// programs are known: used bits at the low end, at the high end with zeros below, or at the high
/// end with the top bits repeated below (full scale is then 65535).
class DepthEvidence {
 public:
  /// Adds every sample of an Frame of u16 planes.
  void add(const Frame& frame);

  /// @param stated_bits  the header's word, 1 to 15; 0 or 16 = says nothing. Believed where the
  ///                     samples allow it.
  /// Without a statement, the low end is judged by the largest sample: 10 and 8 bits only when
  /// samples pile up at the top value, else 12, 14 or 16, the usual converters (common practice,
  /// no source).
  [[nodiscard]] TrueDepth conclude(int stated_bits) const;

 private:
  static constexpr std::array<int, 3> kRepeatable = {10, 12, 14};
  static constexpr std::array<int, 2> kNarrow = {8, 10};

  std::uint16_t used_ = 0;                   ///< bits that were ever set
  std::array<std::uint16_t, 3> mismatch_{};  ///< bits that contradict repetition, by kRepeatable
  std::array<std::int64_t, 2> at_top_{};     ///< samples at full scale, by kNarrow
};

}  // namespace lull::capture
