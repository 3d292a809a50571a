#include "capture/pixel_layout.h"

#include <fmt/format.h>

#include "capture/chroma_layout.h"
#include "capture/palette.h"
#include "core/error.h"

namespace lull::capture {

namespace {

struct Mosaic {
  AVPixelFormat format;
  Cfa cfa;
  SampleType type;
  bool big_endian;
};

// libav's description of mosaics counts the share of each colour (2/4/2 bits), not the bits of a
// sample, hence a table.
constexpr std::array<Mosaic, 12> kMosaics = {{
    {AV_PIX_FMT_BAYER_RGGB8, Cfa::rggb, SampleType::u8, false},
    {AV_PIX_FMT_BAYER_BGGR8, Cfa::bggr, SampleType::u8, false},
    {AV_PIX_FMT_BAYER_GBRG8, Cfa::gbrg, SampleType::u8, false},
    {AV_PIX_FMT_BAYER_GRBG8, Cfa::grbg, SampleType::u8, false},
    {AV_PIX_FMT_BAYER_RGGB16LE, Cfa::rggb, SampleType::u16, false},
    {AV_PIX_FMT_BAYER_BGGR16LE, Cfa::bggr, SampleType::u16, false},
    {AV_PIX_FMT_BAYER_GBRG16LE, Cfa::gbrg, SampleType::u16, false},
    {AV_PIX_FMT_BAYER_GRBG16LE, Cfa::grbg, SampleType::u16, false},
    {AV_PIX_FMT_BAYER_RGGB16BE, Cfa::rggb, SampleType::u16, true},
    {AV_PIX_FMT_BAYER_BGGR16BE, Cfa::bggr, SampleType::u16, true},
    {AV_PIX_FMT_BAYER_GBRG16BE, Cfa::gbrg, SampleType::u16, true},
    {AV_PIX_FMT_BAYER_GRBG16BE, Cfa::grbg, SampleType::u16, true},
}};

[[nodiscard]] InputError unsupported(const std::string& path, const std::string& format) {
  if (format.starts_with("rgb555") || format.starts_with("bgr555")) {
    return InputError(
        fmt::format("{}: pixel format {} (5 bits a colour) is not supported. AVI has no name for "
                    "16-bit gray samples and uses this one instead. If the capture holds them, "
                    "give --pixel-format gray16le.",
                    path, format));
  }
  return InputError(fmt::format(
      "{}: pixel format {} is not supported. Convert the capture to gray or RGB samples of 8 or "
      "16 bits, for example to FFV1 in Matroska.",
      path, format));
}

/// A component whose samples are whole bytes or 16-bit words can be taken as it is.
[[nodiscard]] bool fills_whole_samples(const AVPixFmtDescriptor& format, int component) {
  const AVComponentDescriptor& c = format.comp[component];
  return c.depth <= 8 ? (c.depth == 8 && c.shift == 0) : c.depth + c.shift <= 16;
}

[[nodiscard]] bool is_video_range(const AVFrame& first, bool yuv) {
  if (first.color_range == AVCOL_RANGE_MPEG) return true;
  if (first.color_range == AVCOL_RANGE_JPEG) return false;
  switch (first.format) {
    case AV_PIX_FMT_YUVJ420P:
    case AV_PIX_FMT_YUVJ411P:
    case AV_PIX_FMT_YUVJ422P:
    case AV_PIX_FMT_YUVJ440P:
    case AV_PIX_FMT_YUVJ444P:
      return false;
    default:
      return yuv;  // the standards' default where YUV states none (ITU-R BT.601, BT.709)
  }
}

void set_component(PixelLayout& layout, const AVPixFmtDescriptor& format, int component) {
  const AVComponentDescriptor& c = format.comp[component];
  layout.components[static_cast<std::size_t>(component)] = {c.plane, c.step, c.offset};
}

// Takes the colour differences in, where their samples can be read as the luma's.
void add_chroma(PixelLayout& layout, const AVFrame& first, const AVPixFmtDescriptor& format) {
  bool usable = true;
  for (int i = 1; i < 3; ++i) {
    usable = usable && fills_whole_samples(format, i) &&
             format.comp[i].depth == format.comp[0].depth &&
             format.comp[i].shift == format.comp[0].shift;
    set_component(layout, format, i);
  }
  const auto chroma = chroma_of(first, format, layout.range);
  if (!usable || !chroma) {
    layout.colour = Colour::luma;
    layout.notes.push_back(
        "the colour of this kind of YUV is not supported: only its luma is used");
    return;
  }
  layout.colour = Colour::yuv;
  layout.chroma = *chroma;
}

void add_notes(const AVPixFmtDescriptor& format, PixelLayout& layout) {
  if (layout.range == SampleRange::video) {
    layout.notes.push_back(
        fmt::format("samples are in video range: {} is taken as black, {} as white",
                    16 << (layout.bits - 8), 235 << (layout.bits - 8)));
  }
  if ((format.flags & AV_PIX_FMT_FLAG_ALPHA) != 0) {
    layout.notes.push_back("transparency is not used");
  }
}

/// Its luma is at bytes 1, 2, 4 and 5 of six. libav's description, with one step for all, cannot
/// express that.
constexpr std::string_view kUneven = "uyyvyy411";

/// Gray, YUV or RGB whose samples can be taken as they are.
[[nodiscard]] bool is_described(const AVPixFmtDescriptor& format) {
  constexpr std::uint64_t kNotSamples = AV_PIX_FMT_FLAG_BITSTREAM | AV_PIX_FMT_FLAG_HWACCEL |
                                        AV_PIX_FMT_FLAG_FLOAT | AV_PIX_FMT_FLAG_PAL |
                                        AV_PIX_FMT_FLAG_BAYER;
  const int count = (format.flags & AV_PIX_FMT_FLAG_RGB) != 0 ? 3 : 1;
  bool usable = (format.flags & kNotSamples) == 0 && format.nb_components >= count &&
                std::string_view(format.name).substr(0, 3) != "xyz" &&
                std::string_view(format.name) != kUneven;
  for (int i = 0; usable && i < count; ++i) {
    usable = fills_whole_samples(format, i) && format.comp[i].depth == format.comp[0].depth &&
             format.comp[i].shift == format.comp[0].shift;
  }
  return usable;
}

/// Gray, YUV and RGB formats, by libav's description of their components.
[[nodiscard]] PixelLayout layout_by_description(const std::string& path, const AVFrame& first,
                                                const AVPixFmtDescriptor& format) {
  if (!is_described(format)) throw unsupported(path, format.name);
  const bool rgb = (format.flags & AV_PIX_FMT_FLAG_RGB) != 0;
  const bool yuv = !rgb && format.nb_components >= 3;
  PixelLayout layout;
  layout.colour = rgb ? Colour::rgb : Colour::mono;
  layout.plane_count = rgb ? 3 : 1;
  for (int i = 0; i < layout.plane_count; ++i) set_component(layout, format, i);
  layout.bits = format.comp[0].depth;
  layout.shift = format.comp[0].shift;
  layout.type = layout.bits > 8 ? SampleType::u16 : SampleType::u8;
  layout.big_endian = layout.bits > 8 && (format.flags & AV_PIX_FMT_FLAG_BE) != 0;
  if (!rgb && is_video_range(first, yuv)) layout.range = SampleRange::video;
  layout.bits_are_certain = layout.bits < 16 || layout.range == SampleRange::video;
  if (yuv) add_chroma(layout, first, format);
  add_notes(format, layout);
  return layout;
}

[[nodiscard]] PixelLayout mosaic_layout(const Mosaic& mosaic) {
  PixelLayout layout;
  layout.colour = Colour::cfa;
  layout.cfa = mosaic.cfa;
  layout.type = mosaic.type;
  layout.big_endian = mosaic.big_endian;
  layout.bits = mosaic.type == SampleType::u8 ? 8 : 16;
  layout.bits_are_certain = mosaic.type == SampleType::u8;
  layout.components[0].step_bytes = layout.sample_bytes();
  return layout;
}

[[nodiscard]] PixelLayout palette_layout(const AVFrame& first) {
  PixelLayout layout;
  switch (palette_kind(first)) {
    case PaletteKind::identity:
      return layout;  // the indices are the light
    case PaletteKind::gray:
      break;
    case PaletteKind::colour:
      layout.colour = Colour::rgb;
      layout.plane_count = 3;
      break;
  }
  layout.palette = true;
  layout.notes.push_back("samples are looked up in the palette of the file");
  return layout;
}

}  // namespace

PixelLayout layout_of(const std::string& path, const AVFrame& first) {
  const auto format = static_cast<AVPixelFormat>(first.format);
  for (const Mosaic& mosaic : kMosaics) {
    if (mosaic.format == format) return mosaic_layout(mosaic);
  }
  const AVPixFmtDescriptor* description = av_pix_fmt_desc_get(format);
  if (description == nullptr) throw unsupported(path, "none");
  if (format == AV_PIX_FMT_PAL8) return palette_layout(first);
  return layout_by_description(path, first, *description);
}

bool is_readable(AVPixelFormat format) {
  if (format == AV_PIX_FMT_PAL8) return true;
  for (const Mosaic& mosaic : kMosaics) {
    if (mosaic.format == format) return true;
  }
  const AVPixFmtDescriptor* description = av_pix_fmt_desc_get(format);
  return description != nullptr && is_described(*description);
}

std::string pixel_format_name(int format) {
  const char* name = av_get_pix_fmt_name(static_cast<AVPixelFormat>(format));
  return name == nullptr ? "none" : name;
}

}  // namespace lull::capture
