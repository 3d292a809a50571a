#pragma once

#include <cstddef>
#include <vector>

#include "support/bytes.h"

namespace lull::test {

/// Seeded pictures of `bytes` bytes each: a bright disc on a dark ground, with noise, that moves
/// from picture to picture, so that no two are equal. 8-bit samples, `width_px` a row.
[[nodiscard]] std::vector<Bytes> pictures_8(int count, std::size_t bytes, int width_px);

/// The same in 16-bit words: samples of `bits` bits, shifted up by `shift`.
[[nodiscard]] std::vector<Bytes> pictures_16(int count, std::size_t samples, int width_px, int bits,
                                             int shift);

}  // namespace lull::test
