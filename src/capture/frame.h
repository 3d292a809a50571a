#pragma once

#include <array>
#include <cstdlib>
#include <memory>
#include <optional>
#include <string_view>

#include "core/geometry.h"
#include "core/samples.h"

namespace lull::capture {

/// What the samples of a frame mean.
enum class Colour {
  mono,  ///< one plane of light
  cfa,   ///< one plane, one colour a pixel (see Cfa)
  rgb,   ///< three planes: red, green, blue
  yuv,   ///< one plane of luma, and two of colour differences in Frame::chroma
  luma,  ///< one plane: the luma of a YUV capture without colour, or of which it cannot be used
};

/// Colour filter array: the colours of the 2 x 2 block at (0,0), row by row.
enum class Cfa { none, rggb, bggr, gbrg, grbg };

/// Where black and white of the samples of a video stand.
enum class SampleRange {
  full,   ///< at the ends of the scale
  video,  ///< at 16 and 235, times 2^(bits-8)
};

[[nodiscard]] std::string_view colour_name(Colour colour);
[[nodiscard]] std::string_view cfa_name(Cfa cfa);

/// Colour (0 red, 1 green, 2 blue) of pixel (x, y) of a mosaic.
[[nodiscard]] int cfa_colour_at(Cfa cfa, int x, int y);

/// The array of a mosaic whose first pixel is (x, y) of another.
[[nodiscard]] Cfa moved_cfa(Cfa cfa, int x, int y);

/// Rows at the lower edge whose samples are all the same: what a transfer that stopped leaves.
[[nodiscard]] int dead_rows(const SampleView& samples);

/// One decoded exposure. Cheap to move and to copy: the samples are shared and never change, but by
/// the only owner of a frame whose storage is the only owner of its samples.
struct Frame {
  FrameIndex index = 0;
  double time_s = 0;                 ///< since the first frame
  int plane_count = 1;               ///< 1, or 3 for Colour::rgb
  std::array<SampleView, 3> planes;  ///< integers; CaptureInfo::scale turns them into light
  std::array<SampleView, 2> chroma;  ///< Colour::yuv: blue, red difference; CaptureInfo::chroma
  std::optional<int> dead_rows{};    ///< of planes[0] as recorded, once samples were changed
  bool sole_owner = false;           ///< is storage the only owner of the samples?
  std::shared_ptr<const void> storage;

  /// May the samples be changed in place?
  [[nodiscard]] bool is_own() const { return sole_owner && storage.use_count() == 1; }

  [[nodiscard]] Size size() const { return planes[0].size(); }

  /// Memory that the samples hold.
  [[nodiscard]] std::size_t bytes() const {
    std::size_t sum = 0;
    const auto add = [&sum](const SampleView& plane) {
      sum += static_cast<std::size_t>(std::abs(plane.stride_bytes)) *
             static_cast<std::size_t>(plane.height_px);
    };
    for (int i = 0; i < plane_count; ++i) add(planes[static_cast<std::size_t>(i)]);
    for (const SampleView& plane : chroma) add(plane);
    return sum;
  }
};

}  // namespace lull::capture
