#include <fmt/format.h>
#include <tiffio.h>

#include <algorithm>
#include <array>
#include <cstdarg>
#include <cstdio>
#include <cstring>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "core/error.h"
#include "files/icc.h"
#include "files/tiff.h"

namespace lull::files {

namespace {

/// Larger single blocks are damaged headers: the largest allowed row has 4 floats a pixel.
constexpr tmsize_t kMaxBlockBytes = tmsize_t{4} << 30U;

struct Close {
  void operator()(TIFF* tiff) const { TIFFClose(tiff); }

  void operator()(TIFFOpenOptions* options) const { TIFFOpenOptionsFree(options); }
};

using TiffPointer = std::unique_ptr<TIFF, Close>;

int note_error(TIFF*, void* text, const char*, const char* format, va_list arguments) {
  auto& noted = *static_cast<std::string*>(text);
  if (!noted.empty()) return 1;
  std::array<char, 200> line = {};
  std::vsnprintf(line.data(), line.size(), format, arguments);
  noted = line.data();
  return 1;
}

int ignore_warning(TIFF*, void*, const char*, const char*, va_list) { return 1; }

InputError bad_tiff(const std::filesystem::path& path, const std::string& why) {
  return InputError(fmt::format("cannot read '{}': {}", path.string(), why));
}

struct Layout {
  std::uint32_t width_px = 0;
  std::uint32_t height_px = 0;
  std::uint16_t samples = 1;  ///< a pixel, with alpha
  std::uint16_t bits = 1;
  std::uint16_t sample_format = SAMPLEFORMAT_UINT;
  std::uint16_t photometric = PHOTOMETRIC_MINISBLACK;
  std::uint16_t planar = PLANARCONFIG_CONTIG;

  [[nodiscard]] int channels() const { return photometric == PHOTOMETRIC_RGB ? 3 : 1; }

  [[nodiscard]] bool floating_point() const { return sample_format == SAMPLEFORMAT_IEEEFP; }
};

Layout layout_of(TIFF* tiff) {
  Layout layout;
  TIFFGetField(tiff, TIFFTAG_IMAGEWIDTH, &layout.width_px);
  TIFFGetField(tiff, TIFFTAG_IMAGELENGTH, &layout.height_px);
  TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLESPERPIXEL, &layout.samples);
  TIFFGetFieldDefaulted(tiff, TIFFTAG_BITSPERSAMPLE, &layout.bits);
  TIFFGetFieldDefaulted(tiff, TIFFTAG_SAMPLEFORMAT, &layout.sample_format);
  TIFFGetFieldDefaulted(tiff, TIFFTAG_PLANARCONFIG, &layout.planar);
  TIFFGetField(tiff, TIFFTAG_PHOTOMETRIC, &layout.photometric);
  if (layout.sample_format == SAMPLEFORMAT_VOID) layout.sample_format = SAMPLEFORMAT_UINT;
  return layout;
}

void refuse_unsupported(const std::filesystem::path& path, const Layout& layout,
                        std::int64_t most_px) {
  const auto pixels = std::uint64_t{layout.width_px} * layout.height_px;
  if (pixels == 0) throw bad_tiff(path, "the picture has no pixels");
  if (pixels > static_cast<std::uint64_t>(most_px)) {
    throw bad_tiff(path,
                   fmt::format("{} x {} pixels are more than the {} million this program reads",
                               layout.width_px, layout.height_px, most_px / 1'000'000));
  }
  const bool integers =
      layout.sample_format == SAMPLEFORMAT_UINT && (layout.bits == 8 || layout.bits == 16);
  if (!integers && !(layout.floating_point() && layout.bits == 32)) {
    throw bad_tiff(path,
                   fmt::format("samples of {} bits in TIFF sample format {} are not supported; "
                               "save it with 8 or 16 bit integers or 32-bit floats",
                               layout.bits, layout.sample_format));
  }
  const bool grey =
      layout.photometric == PHOTOMETRIC_MINISBLACK || layout.photometric == PHOTOMETRIC_MINISWHITE;
  if (!grey && layout.photometric != PHOTOMETRIC_RGB) {
    throw bad_tiff(path, "only grey and RGB pictures are supported; save it as one of these");
  }
  if (layout.samples < layout.channels() || layout.samples > 4) {
    throw bad_tiff(path, fmt::format("{} samples a pixel are not supported", layout.samples));
  }
}

template <class T>
float sample_at(std::span<const std::byte> row, std::size_t index) {
  T sample;
  std::memcpy(&sample, row.data() + index * sizeof(T), sizeof(T));
  return static_cast<float>(sample);
}

/// Channel values of `count` pixels of one stored row: `step` samples apart, from `first`.
void convert(const Layout& layout, std::span<const std::byte> row, std::size_t first,
             std::size_t step, std::size_t count, float* out) {
  const bool inverted = layout.photometric == PHOTOMETRIC_MINISWHITE;
  for (std::size_t x = 0; x < count; ++x) {
    const std::size_t index = first + x * step;
    float value = 0;
    if (layout.floating_point()) {
      value = sample_at<float>(row, index);
    } else if (layout.bits == 16) {
      value = sample_at<std::uint16_t>(row, index) / 65535.0F;
    } else {
      value = sample_at<std::uint8_t>(row, index) / 255.0F;
    }
    out[x] = inverted ? 1.0F - value : value;
  }
}

TiffPointer open_for_reading(const std::filesystem::path& path, std::string& trouble) {
  const std::unique_ptr<TIFFOpenOptions, Close> options(TIFFOpenOptionsAlloc());
  TIFFOpenOptionsSetErrorHandlerExtR(options.get(), note_error, &trouble);
  TIFFOpenOptionsSetWarningHandlerExtR(options.get(), ignore_warning, nullptr);
  TIFFOpenOptionsSetMaxSingleMemAlloc(options.get(), kMaxBlockBytes);
  // "m": no memory mapping, which would crash on a file that shrinks meanwhile.
  TiffPointer tiff(TIFFOpenExt(path.c_str(), "rm", options.get()));
  if (!tiff) throw bad_tiff(path, "its TIFF structure is damaged (" + trouble + ")");
  return tiff;
}

/// Whether its profile or its transfer function (TIFF 6.0, section 20) state that values are not
/// proportional to light.
bool states_stretched(TIFF* tiff) {
  std::uint32_t length = 0;
  const void* profile = nullptr;
  if (TIFFGetField(tiff, TIFFTAG_ICCPROFILE, &length, &profile) == 1)
    return is_stretched(std::span(static_cast<const std::byte*>(profile), length));
  const std::uint16_t* red = nullptr;
  const std::uint16_t* green = nullptr;
  const std::uint16_t* blue = nullptr;
  return TIFFGetField(tiff, TIFFTAG_TRANSFERFUNCTION, &red, &green, &blue) == 1;
}

/// What is read of a file.
struct Samples {
  const std::filesystem::path& path;
  TIFF* tiff;
  const Layout& layout;
  std::size_t per_pixel;    ///< samples of a pixel that lie together
  std::size_t interleaved;  ///< channels among them
  const std::string& trouble;
};

/// Rows of the file from y0, as many as `out` has.
void read_rows(const Samples& samples, std::size_t plane, std::uint32_t y0, Picture& out) {
  const Layout& layout = samples.layout;
  std::vector<std::byte> row(static_cast<std::size_t>(TIFFScanlineSize64(samples.tiff)));
  if (row.size() < std::size_t{layout.width_px} * samples.per_pixel * layout.bits / 8)
    throw bad_tiff(samples.path, "its TIFF structure is damaged (rows too short)");
  const auto end = y0 + static_cast<std::uint32_t>(out.size().height_px);
  for (std::uint32_t y = y0; y < end; ++y) {
    if (TIFFReadScanline(samples.tiff, row.data(), y, static_cast<std::uint16_t>(plane)) != 1) {
      throw bad_tiff(samples.path, fmt::format("row {} of {} is damaged or missing ({})", y,
                                               layout.height_px, samples.trouble));
    }
    for (std::size_t c = 0; c < samples.interleaved; ++c) {
      convert(layout, row, c, samples.per_pixel, layout.width_px,
              out.channels[plane + c].row(static_cast<int>(y - y0)));
    }
  }
}

/// Sides of a tile. @throws InputError for those of no sane file.
std::array<std::uint32_t, 2> tile_sides(const Samples& samples) {
  constexpr std::uint32_t kMostSide = 1U << 12U;
  std::array<std::uint32_t, 2> sides = {0, 0};
  TIFFGetField(samples.tiff, TIFFTAG_TILEWIDTH, &sides[0]);
  TIFFGetField(samples.tiff, TIFFTAG_TILELENGTH, &sides[1]);
  for (const std::uint32_t side : sides) {
    if (side == 0 || side > kMostSide) {
      throw bad_tiff(samples.path,
                     fmt::format("its tiles of {} x {} pixels are not supported; save it again in "
                                 "strips",
                                 sides[0], sides[1]));
    }
  }
  return sides;
}

/// The same of tiles; one begins at y0.
void read_tiles(const Samples& samples, std::size_t plane, std::uint32_t y0, Picture& out) {
  const Layout& layout = samples.layout;
  const auto [width, height] = tile_sides(samples);
  std::vector<std::byte> tile(static_cast<std::size_t>(TIFFTileSize64(samples.tiff)));
  const std::size_t row_bytes = std::size_t{width} * samples.per_pixel * layout.bits / 8;
  if (tile.size() < row_bytes * height)
    throw bad_tiff(samples.path, "its TIFF structure is damaged (tiles too small)");
  const auto end = y0 + static_cast<std::uint32_t>(out.size().height_px);
  for (std::uint32_t y = y0; y < end; y += height) {
    for (std::uint32_t x = 0; x < layout.width_px; x += width) {
      if (TIFFReadTile(samples.tiff, tile.data(), x, y, 0, static_cast<std::uint16_t>(plane)) < 0) {
        throw bad_tiff(samples.path,
                       fmt::format("the tile at column {}, row {} is damaged or missing ({})", x, y,
                                   samples.trouble));
      }
      const std::size_t columns = std::min(width, layout.width_px - x);
      const std::uint32_t rows = std::min(height, end - y);
      for (std::uint32_t r = 0; r < rows; ++r) {
        const std::span<const std::byte> row(tile.data() + r * row_bytes, row_bytes);
        for (std::size_t c = 0; c < samples.interleaved; ++c) {
          convert(layout, row, c, samples.per_pixel, columns,
                  out.channels[plane + c].row(static_cast<int>(y - y0 + r)) + x);
        }
      }
    }
  }
}

/// A TIFF that is being read.
class Reader {
 public:
  Reader(const std::filesystem::path& path, std::int64_t most_px)
      : path_(path), tiff_(open_for_reading(path, trouble_)), layout_(layout_of(tiff_.get())) {
    refuse_unsupported(path, layout_, most_px);
  }

  [[nodiscard]] const Layout& layout() const { return layout_; }

  [[nodiscard]] StoredFacts facts() const {
    return {{static_cast<int>(layout_.width_px), static_cast<int>(layout_.height_px)},
            static_cast<std::size_t>(layout_.channels()),
            states_stretched(tiff_.get())};
  }

  /// By which it is read without decoding anything twice, where channels lie together.
  [[nodiscard]] int band_rows() const {
    return is_tiled() ? static_cast<int>(tile_sides(samples())[1]) : kBandRows;
  }

  /// Rows from y0, a multiple of band_rows(), as many as `out` has.
  void read(int y0, Picture& out) const {
    const std::size_t planes = is_separate() ? out.channels.size() : 1;
    for (std::size_t plane = 0; plane < planes; ++plane) {
      if (is_tiled())
        read_tiles(samples(), plane, static_cast<std::uint32_t>(y0), out);
      else
        read_rows(samples(), plane, static_cast<std::uint32_t>(y0), out);
    }
  }

 private:
  [[nodiscard]] bool is_tiled() const { return TIFFIsTiled(tiff_.get()) != 0; }

  [[nodiscard]] bool is_separate() const { return layout_.planar == PLANARCONFIG_SEPARATE; }

  [[nodiscard]] Samples samples() const {
    const bool separate = is_separate();
    return {path_,
            tiff_.get(),
            layout_,
            separate ? std::size_t{1} : layout_.samples,
            separate ? std::size_t{1} : static_cast<std::size_t>(layout_.channels()),
            trouble_};
  }

  const std::filesystem::path& path_;
  std::string trouble_;
  TiffPointer tiff_;
  Layout layout_;
};

}  // namespace

PictureFile read_tiff(const std::filesystem::path& path, const SizeCheck& check) {
  const Reader reader(path, kMaxPicturePx);
  const Layout& layout = reader.layout();
  const StoredFacts facts = reader.facts();
  PictureFile file;
  file.format = Format::tiff;
  file.bits_per_sample = layout.bits;
  file.floating_point = layout.floating_point();
  file.has_alpha = layout.samples > layout.channels();
  file.stretched = facts.stretched;
  if (check) check(facts.size, layout.channels());
  file.picture = make_picture(facts.size, layout.channels());
  reader.read(0, file.picture);
  return file;
}

void read_tiff_bands(const std::filesystem::path& path, const BandTaker& taker) {
  const Reader reader(path, kMaxBandsPx);
  const StoredFacts facts = reader.facts();
  taker.begin(facts);
  const int height = facts.size.height_px;
  const int rows = reader.band_rows();
  for (int y0 = 0; y0 < height; y0 += rows) {
    Picture band = make_picture({facts.size.width_px, std::min(rows, height - y0)},
                                reader.layout().channels());
    reader.read(y0, band);
    taker.take(band.view(), y0);
  }
}

}  // namespace lull::files
