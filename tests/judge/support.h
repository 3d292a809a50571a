#pragma once

#include <cstdint>
#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "files/picture.h"
#include "judge/image.h"
#include "judge/truth.h"

namespace lull::judge::test {

/// Seeded Gaussian noise of mean 0.
[[nodiscard]] Image noise(Size size, double sigma, std::uint32_t seed);

/// a + b, sample by sample.
[[nodiscard]] Image sum(const Image& a, const Image& b);

/// Largest difference of two images of one size.
[[nodiscard]] double largest_difference(const Image& a, const Image& b);

/// The sample of the highland, read once.
[[nodiscard]] const Truth& highland();

/// What stands in its primary image: the truth without its rim.
[[nodiscard]] Image highland_picture();

/// The truth where a displacement (x, y) -> (dx, dy), px, moved its detail: shows truth place p at
/// about p + displacement.
[[nodiscard]] Image displaced_highland(const std::function<Shift(int, int)>& displacement);

[[nodiscard]] files::Picture picture_of(const std::vector<Image>& channels);

/// Runs references.py. @return what it printed; nothing, with a message, when its libraries are not
/// installed. Fails the test on any other trouble.
[[nodiscard]] std::optional<std::string> reference(const std::vector<std::string>& arguments);

void write_raw(const std::filesystem::path& path, const std::vector<double>& values);

}  // namespace lull::judge::test
