#include "capture/bit_depth.h"

#include <algorithm>
#include <bit>

namespace lull::capture {

namespace {

/// Fewer used bits than this do not show the alignment (black frames, a constant offset).
constexpr int kFewestUsedBits = 4;
/// Samples at the top value that make saturation likelier than chance.
constexpr std::int64_t kPileUp = 4;

/// What must be zero in a word whose top `bits` are repeated below.
[[nodiscard]] std::uint16_t repetition_mismatch(std::uint16_t value, int bits) {
  const int free_bits = 16 - bits;
  const auto low = static_cast<std::uint16_t>(value & ((1U << free_bits) - 1));
  return static_cast<std::uint16_t>(low ^ (value >> bits));
}

[[nodiscard]] TrueDepth low_end(int bits) {
  return {bits, false, static_cast<double>((1 << bits) - 1), false};
}

[[nodiscard]] TrueDepth high_end(int bits) {
  return {bits, true, static_cast<double>(((1 << bits) - 1) << (16 - bits)), false};
}

}  // namespace

void BitDepthEstimator::add(const Frame& frame) {
  for (std::size_t i = 0; i < static_cast<std::size_t>(frame.plane_count); ++i) {
    const SampleView& plane = frame.planes[i];
    for (int y = 0; y < plane.height_px; ++y) {
      const auto* row = plane.row<std::uint16_t>(y);
      for (int x = 0; x < plane.width_px; ++x) {
        const std::uint16_t value = row[x];
        used_ |= value;
        for (std::size_t b = 0; b < kRepeatable.size(); ++b) {
          mismatch_[b] |= repetition_mismatch(value, kRepeatable[b]);
        }
        for (std::size_t b = 0; b < kNarrow.size(); ++b) {
          at_top_[b] += value == (1 << kNarrow[b]) - 1 ? 1 : 0;
        }
      }
    }
  }
}

TrueDepth BitDepthEstimator::estimate(int stated_bits) const {
  const bool stated = stated_bits >= 1 && stated_bits < 16;
  if (used_ == 0) return stated ? low_end(stated_bits) : TrueDepth{};
  const int width = std::bit_width(used_);
  const int zeros = std::countr_zero(used_);
  const bool telling = std::popcount(used_) >= kFewestUsedBits;
  if (stated && telling && zeros >= 16 - stated_bits) return high_end(stated_bits);
  if (stated && width <= stated_bits) return low_end(stated_bits);
  TrueDepth found;
  if (telling && zeros >= 2) {
    found = high_end(16 - std::min(zeros, 8));
  } else {
    for (std::size_t b = kRepeatable.size(); b-- > 0;) {
      if (telling && mismatch_[b] == 0) found = {kRepeatable[b], true, 65535, false};
    }
    if (found.bits == 16 && width <= 14) found = low_end(width <= 12 ? 12 : 14);
    for (std::size_t b = kNarrow.size(); b-- > 0;) {
      if (width == kNarrow[b] && at_top_[b] >= kPileUp) found = low_end(kNarrow[b]);
    }
  }
  found.header_was_wrong = stated && found.bits != stated_bits;
  return found;
}

}  // namespace lull::capture
