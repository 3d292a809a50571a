#include "report/bitmap_file.h"

#include <png.h>

#include <algorithm>
#include <csetjmp>
#include <cstdio>
#include <cstdlib>
#include <stdexcept>

// jpeglib.h needs size_t and FILE before it.
#include <jpeglib.h>

namespace lull::report {

namespace {

// libjpeg leaves by longjmp, which must not pass C++ objects: encode() has none.
struct JpegJob {
  jpeg_compress_struct state = {};
  jpeg_error_mgr errors = {};
  std::jmp_buf give_up = {};
  unsigned char* data = nullptr;
  unsigned long size = 0;

  JpegJob() = default;
  JpegJob(const JpegJob&) = delete;
  JpegJob& operator=(const JpegJob&) = delete;

  ~JpegJob() {
    jpeg_destroy_compress(&state);
    std::free(data);  // NOLINT: libjpeg allocates with malloc
  }
};

[[noreturn]] void leave(j_common_ptr state) {
  std::longjmp(static_cast<JpegJob*>(state->client_data)->give_up, 1);  // NOLINT: as above
}

void no_message(j_common_ptr) {}

// False when libjpeg gave up. No local variable with a destructor, none changed after setjmp.
bool encode(JpegJob& job, const Bitmap& bitmap, int quality) {
  jpeg_compress_struct& state = job.state;
  state.err = jpeg_std_error(&job.errors);
  job.errors.error_exit = leave;
  job.errors.output_message = no_message;
  state.client_data = &job;
  if (setjmp(job.give_up) != 0) return false;  // NOLINT: libjpeg's way to report errors
  jpeg_create_compress(&state);
  jpeg_mem_dest(&state, &job.data, &job.size);
  state.image_width = static_cast<JDIMENSION>(bitmap.width_px);
  state.image_height = static_cast<JDIMENSION>(bitmap.height_px);
  state.input_components = bitmap.channels;
  state.in_color_space = bitmap.channels == 3 ? JCS_RGB : JCS_GRAYSCALE;
  jpeg_set_defaults(&state);
  jpeg_set_quality(&state, quality, TRUE);
  for (int c = 0; c < state.num_components; ++c)
    state.comp_info[c].h_samp_factor = state.comp_info[c].v_samp_factor = 1;
  jpeg_start_compress(&state, TRUE);
  const std::size_t pitch =
      static_cast<std::size_t>(bitmap.width_px) * static_cast<std::size_t>(bitmap.channels);
  while (state.next_scanline < state.image_height) {
    // libjpeg only reads the samples, but its interface is not const.
    auto* row =
        const_cast<JSAMPLE*>(bitmap.samples.data() + pitch * state.next_scanline);  // NOLINT
    jpeg_write_scanlines(&state, &row, 1);
  }
  jpeg_finish_compress(&state);
  return true;
}

}  // namespace

std::vector<std::uint8_t> png_of(const Bitmap& bitmap) {
  png_image image = {};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(bitmap.width_px);
  image.height = static_cast<png_uint_32>(bitmap.height_px);
  image.format = bitmap.channels == 3 ? PNG_FORMAT_RGB : PNG_FORMAT_GRAY;
  png_alloc_size_t size = PNG_IMAGE_PNG_SIZE_MAX(image);
  std::vector<std::uint8_t> out(size);
  if (png_image_write_to_memory(&image, out.data(), &size, 0, bitmap.samples.data(), 0, nullptr) ==
      0) {
    throw std::runtime_error(std::string("libpng could not encode: ") + image.message);
  }
  out.resize(size);
  return out;
}

std::vector<std::uint8_t> jpeg_of(const Bitmap& bitmap, int quality) {
  JpegJob job;
  if (!encode(job, bitmap, quality)) throw std::runtime_error("libjpeg could not encode");
  return {job.data, job.data + job.size};
}

std::string base64(std::span<const std::uint8_t> bytes) {
  static constexpr char kDigits[] =
      "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  out.reserve((bytes.size() + 2) / 3 * 4);
  for (std::size_t i = 0; i < bytes.size(); i += 3) {
    const std::size_t count = std::min<std::size_t>(3, bytes.size() - i);
    std::uint32_t group = 0;
    for (std::size_t k = 0; k < 3; ++k)
      group = (group << 8U) | (k < count ? bytes[i + k] : std::uint32_t{0});
    for (std::size_t k = 0; k < 4; ++k)
      out += k <= count ? kDigits[(group >> (18 - 6 * k)) & 63U] : '=';
  }
  return out;
}

}  // namespace lull::report
