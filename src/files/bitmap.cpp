#include "files/bitmap.h"

#include <fmt/format.h>
#include <png.h>

#include <csetjmp>
#include <cstdio>
#include <cstdlib>
#include <span>
#include <string>

// jpeglib.h needs size_t and FILE before it.
#include <jpeglib.h>

#include "core/error.h"

namespace lull::files {

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
bool encode(JpegJob& job, const Bitmap& bitmap, int quality, const JpegSegments& segments) {
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
  if (!segments.exif.empty()) {
    jpeg_write_marker(&state, JPEG_APP0 + 1, segments.exif.data(),
                      static_cast<unsigned>(segments.exif.size()));
  }
  if (!segments.profile.empty()) {
    jpeg_write_icc_profile(&state, reinterpret_cast<const JOCTET*>(segments.profile.data()),
                           static_cast<unsigned>(segments.profile.size()));
  }
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

OutputError cannot_encode(const char* library, const Bitmap& bitmap, const std::string& why) {
  return OutputError(fmt::format("{} could not encode a picture of {} x {} pixels{}", library,
                                 bitmap.width_px, bitmap.height_px, why));
}

}  // namespace

std::vector<std::byte> encode_png(const Bitmap& bitmap) {
  png_image image = {};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(bitmap.width_px);
  image.height = static_cast<png_uint_32>(bitmap.height_px);
  image.format = bitmap.channels == 3 ? PNG_FORMAT_RGB : PNG_FORMAT_GRAY;  // of 8 bits: sRGB
  png_alloc_size_t size = PNG_IMAGE_PNG_SIZE_MAX(image);
  std::vector<std::byte> out(size);
  if (png_image_write_to_memory(&image, out.data(), &size, 0, bitmap.samples.data(), 0, nullptr) ==
      0) {
    throw cannot_encode("libpng", bitmap, std::string(": ") + image.message);
  }
  out.resize(size);
  return out;
}

std::vector<std::byte> encode_jpeg(const Bitmap& bitmap, int quality,
                                   const JpegSegments& segments) {
  JpegJob job;
  if (!encode(job, bitmap, quality, segments)) throw cannot_encode("libjpeg", bitmap, "");
  const auto bytes = std::as_bytes(std::span(job.data, job.size));
  return {bytes.begin(), bytes.end()};
}

}  // namespace lull::files
