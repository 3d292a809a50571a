#pragma once

#include <array>
#include <string>
#include <vector>

#include "capture/chroma.h"
#include "capture/frame.h"
#include "capture/libav.h"

namespace lull::capture {

/// Position of the samples of one plane of a Frame in libav's picture.
struct ComponentLayout {
  int plane = 0;
  int step_bytes = 1;    ///< from one pixel to the next
  int offset_bytes = 0;  ///< of the first pixel in its row
};

/// How libav's pixel format becomes planes of samples.
struct PixelLayout {
  Colour colour = Colour::mono;
  Cfa cfa = Cfa::none;
  SampleType type = SampleType::u8;
  int plane_count = 1;
  std::array<ComponentLayout, 3> components;  ///< of Colour::yuv also the colour differences
  Chroma chroma;                              ///< of Colour::yuv
  bool big_endian = false;
  bool palette = false;  ///< samples are looked up in the picture's palette
  SampleRange range = SampleRange::full;
  int bits = 8;                  ///< used bits of a stored sample
  int shift = 0;                 ///< unused bits below them
  bool bits_are_certain = true;  ///< false: a 16-bit container that may hold fewer
  std::vector<std::string> notes;

  [[nodiscard]] int sample_bytes() const { return type == SampleType::u8 ? 1 : 2; }
};

/// Layout of captures that begin with `first`; its palette decides whether indices are gray.
/// @throws InputError naming the format if it is not supported.
[[nodiscard]] PixelLayout layout_of(const std::string& path, const AVFrame& first);

/// Whether frames of that pixel format can become samples.
[[nodiscard]] bool is_readable(AVPixelFormat format);

/// libav's name of a pixel format, "none" for an unknown one.
[[nodiscard]] std::string pixel_format_name(int format);

}  // namespace lull::capture
