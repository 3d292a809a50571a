#include "files/share.h"

#include <fmt/format.h>
#include <jpeglib.h>  // needs <cstdio> before it
#include <png.h>

#include <algorithm>
#include <cmath>
#include <csetjmp>
#include <cstdio>
#include <cstdlib>
#include <memory>
#include <span>
#include <string>
#include <vector>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/failure.h"

namespace lull::files {

namespace {

constexpr int kQuality = 92;
constexpr int kLongestJpegSide = 65500;  // JPEG_MAX_DIMENSION

std::string ending_of(const std::filesystem::path& path) {
  std::string ending = path.extension().string();
  for (char& c : ending) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return ending;
}

// Interleaved samples of 8 bits.
std::vector<std::uint8_t> samples_of(const PictureView& picture) {
  const Size size = picture.size();
  const std::size_t step = picture.channels.size();
  std::vector<std::uint8_t> out(static_cast<std::size_t>(size.area_px()) * step);
  std::size_t at = 0;
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      for (const PlaneView& channel : picture.channels) {
        const float value = std::clamp(channel.row(y)[x], 0.0F, 1.0F);
        out[at++] = static_cast<std::uint8_t>(std::lround(value * 255.0F));
      }
    }
  }
  return out;
}

struct FreeBytes {
  void operator()(unsigned char* bytes) const { std::free(bytes); }  // NOLINT: libjpeg's malloc
};

// libjpeg leaves by longjmp: nothing with a destructor lives in the function that calls setjmp.
struct JpegJob {
  jpeg_compress_struct compress{};
  jpeg_error_mgr errors{};
  std::jmp_buf leave{};
  unsigned char* bytes = nullptr;
  unsigned long size = 0;
  std::vector<std::uint8_t>* samples = nullptr;
  Size picture;
  int channels = 1;
};

[[noreturn]] void leave_jpeg(j_common_ptr info) {
  std::longjmp(static_cast<JpegJob*>(info->client_data)->leave, 1);
}

bool encode_jpeg(JpegJob& job) {
  job.compress.err = jpeg_std_error(&job.errors);
  job.errors.error_exit = leave_jpeg;
  job.compress.client_data = &job;
  if (setjmp(job.leave) != 0) {  // NOLINT: libjpeg's way to report errors
    jpeg_destroy_compress(&job.compress);
    return false;
  }
  jpeg_create_compress(&job.compress);
  job.compress.client_data = &job;
  jpeg_mem_dest(&job.compress, &job.bytes, &job.size);
  job.compress.image_width = static_cast<JDIMENSION>(job.picture.width_px);
  job.compress.image_height = static_cast<JDIMENSION>(job.picture.height_px);
  job.compress.input_components = job.channels;
  job.compress.in_color_space = job.channels == 3 ? JCS_RGB : JCS_GRAYSCALE;
  jpeg_set_defaults(&job.compress);
  jpeg_set_quality(&job.compress, kQuality, TRUE);
  job.compress.comp_info[0].h_samp_factor = 1;
  job.compress.comp_info[0].v_samp_factor = 1;
  jpeg_start_compress(&job.compress, TRUE);
  const auto row_bytes = static_cast<std::size_t>(job.picture.width_px * job.channels);
  while (job.compress.next_scanline < job.compress.image_height) {
    JSAMPROW row = job.samples->data() + job.compress.next_scanline * row_bytes;
    jpeg_write_scanlines(&job.compress, &row, 1);
  }
  jpeg_finish_compress(&job.compress);
  jpeg_destroy_compress(&job.compress);
  return true;
}

void write_jpeg(const std::filesystem::path& path, const PictureView& picture) {
  const Size size = picture.size();
  if (std::max(size.width_px, size.height_px) > kLongestJpegSide) {
    throw OutputError(
        fmt::format("cannot write '{}': JPEG allows {} pixels a side, and this "
                    "picture has {} x {}; name it .png",
                    path.string(), kLongestJpegSide, size.width_px, size.height_px));
  }
  std::vector<std::uint8_t> samples = samples_of(picture);
  JpegJob job;
  job.samples = &samples;
  job.picture = size;
  job.channels = static_cast<int>(picture.channels.size());
  const bool done = encode_jpeg(job);
  const std::unique_ptr<unsigned char, FreeBytes> bytes(job.bytes);
  if (!done) throw cannot_write(path, 0);
  AtomicFile file(path);
  file.write(std::as_bytes(std::span(bytes.get(), job.size)));
  file.commit();
}

void write_png(const std::filesystem::path& path, const PictureView& picture) {
  const std::vector<std::uint8_t> samples = samples_of(picture);
  png_image image{};
  image.version = PNG_IMAGE_VERSION;
  image.width = static_cast<png_uint_32>(picture.size().width_px);
  image.height = static_cast<png_uint_32>(picture.size().height_px);
  image.format = picture.channels.size() == 3 ? PNG_FORMAT_RGB : PNG_FORMAT_GRAY;  // 8 bit: sRGB
  png_alloc_size_t size = 0;
  if (png_image_write_to_memory(&image, nullptr, &size, 0, samples.data(), 0, nullptr) == 0)
    throw cannot_write(path, 0);
  std::vector<std::byte> bytes(size);
  if (png_image_write_to_memory(&image, bytes.data(), &size, 0, samples.data(), 0, nullptr) == 0)
    throw cannot_write(path, 0);
  AtomicFile file(path);
  file.write(std::span(bytes).first(size));
  file.commit();
}

}  // namespace

void check_share_name(const std::filesystem::path& path) {
  const std::string ending = ending_of(path);
  if (ending == ".jpg" || ending == ".jpeg" || ending == ".png") return;
  throw UsageError(
      fmt::format("--share {}: give it a name that ends in .jpg, .jpeg or .png", path.string()));
}

void write_share(const std::filesystem::path& path, const PictureView& picture) {
  check_share_name(path);
  check_picture(picture, {});
  ending_of(path) == ".png" ? write_png(path, picture) : write_jpeg(path, picture);
}

}  // namespace lull::files
