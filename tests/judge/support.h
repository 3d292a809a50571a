#pragma once

#include <cstdint>
#include <functional>
#include <vector>

#include "files/picture.h"
#include "judge/image.h"
#include "judge/truth.h"

namespace lull::test {

/// Seeded Gaussian noise of mean 0.
[[nodiscard]] judge::Image noise(Size size, double sigma, std::uint32_t seed);

/// a + b, sample by sample.
[[nodiscard]] judge::Image sum(const judge::Image& a, const judge::Image& b);

/// Largest difference of two images of one size.
[[nodiscard]] double largest_difference(const judge::Image& a, const judge::Image& b);

/// The sample of the highland, read once.
[[nodiscard]] const judge::Truth& highland();

/// Its primary image: the truth without its rim.
[[nodiscard]] judge::Image highland_picture();

/// The truth where a displacement (x, y) -> (dx, dy), px, moved its detail: shows truth place p at
/// about p + displacement.
[[nodiscard]] judge::Image displaced_highland(
    const std::function<Displacement(int, int)>& displacement);

[[nodiscard]] files::Picture picture_of(const std::vector<judge::Image>& channels);

}  // namespace lull::test
