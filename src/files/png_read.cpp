#include <fmt/format.h>
#include <png.h>

#include <csetjmp>
#include <cstdio>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "core/error.h"
#include "files/icc.h"
#include "files/png.h"

namespace lull::files {

namespace {

/// As in writing: libpng leaves by longjmp, so what has a destructor lives outside of setjmp.
struct Job {
  std::FILE* file = nullptr;
  std::string trouble;
  std::vector<png_byte> samples;  ///< whole picture; interlaced files need that
  std::vector<png_bytep> rows;
  std::uint32_t width_px = 0;
  std::uint32_t height_px = 0;
  int channels = 0;
  int bits = 0;
  bool has_alpha = false;
  bool stretched = false;
};

InputError bad_png(const std::filesystem::path& path, const std::string& why) {
  return InputError(fmt::format("cannot read '{}': {}", path.string(), why));
}

[[noreturn]] void leave(png_structp png, png_const_charp message) {
  static_cast<Job*>(png_get_error_ptr(png))->trouble = message;
  png_longjmp(png, 1);
}

void ignore_warning(png_structp, png_const_charp) {}

/// Whether the chunk iCCP, sRGB or gAMA states that values are not proportional to light. A gamma
/// of 1 is stored as 100000 (PNG 1.2, section 4.2.2.1).
bool states_stretched(png_structp png, png_infop info) {
  png_charp name = nullptr;
  int compression = 0;
  png_bytep profile = nullptr;
  png_uint_32 length = 0;
  if (png_get_iCCP(png, info, &name, &compression, &profile, &length) != 0)
    return is_stretched(std::as_bytes(std::span(profile, length)));
  if (png_get_valid(png, info, PNG_INFO_sRGB) != 0) return true;
  png_fixed_point gamma = PNG_FP_1;
  return png_get_gAMA_fixed(png, info, &gamma) != 0 && gamma != PNG_FP_1;
}

/// Any colour type becomes grey or RGB of 8 or 16 bits without alpha.
bool read_header(png_structp png, png_infop info, Job& job) {
  if (setjmp(png_jmpbuf(png)) != 0) return false;  // NOLINT: libpng's way to report errors
  png_init_io(png, job.file);
  png_read_info(png, info);
  job.width_px = png_get_image_width(png, info);
  job.height_px = png_get_image_height(png, info);
  job.bits = png_get_bit_depth(png, info) == 16 ? 16 : 8;
  const int color_type = png_get_color_type(png, info);
  job.has_alpha =
      (color_type & PNG_COLOR_MASK_ALPHA) != 0 || png_get_valid(png, info, PNG_INFO_tRNS) != 0;
  job.stretched = states_stretched(png, info);
  if (color_type == PNG_COLOR_TYPE_PALETTE) png_set_palette_to_rgb(png);
  if (color_type == PNG_COLOR_TYPE_GRAY) png_set_expand_gray_1_2_4_to_8(png);
  png_set_strip_alpha(png);
  png_set_interlace_handling(png);
  png_read_update_info(png, info);
  job.channels = png_get_channels(png, info);
  return true;
}

bool read_samples(png_structp png, Job& job) {
  if (setjmp(png_jmpbuf(png)) != 0) return false;  // NOLINT: libpng's way to report errors
  png_read_image(png, job.rows.data());
  png_read_end(png, nullptr);
  return true;
}

void allocate(Job& job) {
  const auto bytes_per_sample = static_cast<std::size_t>(job.bits / 8);
  const std::size_t row_bytes =
      job.width_px * static_cast<std::size_t>(job.channels) * bytes_per_sample;
  job.samples.resize(row_bytes * job.height_px);
  for (std::size_t y = 0; y < job.height_px; ++y) {
    job.rows.push_back(job.samples.data() + y * row_bytes);
  }
}

/// PNG integers are stored most significant byte first.
float sample_at(const png_byte* row, std::size_t index, int bits) {
  if (bits == 8) return static_cast<float>(row[index]) / 255.0F;
  return static_cast<float>(row[2 * index] * 256 + row[2 * index + 1]) / 65535.0F;
}

Picture to_picture(const Job& job) {
  const auto channels = static_cast<std::size_t>(job.channels);
  Picture picture =
      make_picture({static_cast<int>(job.width_px), static_cast<int>(job.height_px)}, job.channels);
  for (std::size_t c = 0; c < channels; ++c) {
    for (std::size_t y = 0; y < job.height_px; ++y) {
      float* out = picture.channels[c].row(static_cast<int>(y));
      for (std::size_t x = 0; x < job.width_px; ++x) {
        out[x] = sample_at(job.rows[y], x * channels + c, job.bits);
      }
    }
  }
  return picture;
}

struct Reader {
  png_structp png = nullptr;
  png_infop info = nullptr;

  explicit Reader(Job& job)
      : png(png_create_read_struct(PNG_LIBPNG_VER_STRING, &job, leave, ignore_warning)),
        info(png != nullptr ? png_create_info_struct(png) : nullptr) {
    if (info == nullptr) throw std::bad_alloc();
  }

  ~Reader() { png_destroy_read_struct(&png, &info, nullptr); }

  Reader(const Reader&) = delete;
  Reader& operator=(const Reader&) = delete;
};

}  // namespace

PictureFile read_png(const std::filesystem::path& path, const SizeCheck& check) {
  const std::unique_ptr<std::FILE, int (*)(std::FILE*)> input(std::fopen(path.c_str(), "rb"),
                                                              &std::fclose);
  if (!input) throw bad_png(path, "it cannot be opened");
  Job job;
  job.file = input.get();
  const Reader reader(job);
  if (!read_header(reader.png, reader.info, job)) {
    throw bad_png(path, "its PNG header is damaged (" + job.trouble + ")");
  }
  if (std::uint64_t{job.width_px} * job.height_px > static_cast<std::uint64_t>(kMaxPicturePx)) {
    throw bad_png(path,
                  fmt::format("{} x {} pixels are more than the {} million this program reads",
                              job.width_px, job.height_px, kMaxPicturePx / 1'000'000));
  }
  if (check) check({static_cast<int>(job.width_px), static_cast<int>(job.height_px)}, job.channels);
  allocate(job);
  if (!read_samples(reader.png, job)) {
    throw bad_png(path, "it is damaged or cut short (" + job.trouble + ")");
  }
  PictureFile file;
  file.format = Format::png;
  file.bits_per_sample = job.bits;
  file.picture = to_picture(job);
  file.has_alpha = job.has_alpha;
  file.stretched = job.stretched;
  return file;
}

}  // namespace lull::files
