#include <fmt/format.h>
#include <png.h>

#include <algorithm>
#include <chrono>
#include <csetjmp>
#include <exception>
#include <new>
#include <span>
#include <string>
#include <vector>

#include "files/atomic_file.h"
#include "files/icc.h"
#include "files/png.h"

namespace lull::files {

namespace {

/// libpng leaves by longjmp, which must not pass C++ objects. So everything it calls catches, and
/// everything with a destructor lives outside of the function that calls setjmp.
struct Job {
  AtomicFile* file = nullptr;
  const PictureBands* picture = nullptr;
  const Encoding* encoding = nullptr;
  std::string description;
  std::string software = software_name();
  std::vector<std::byte> profile;  ///< empty = none
  PictureView band;                ///< the rows at work
  std::vector<std::uint16_t> row;
  Clipped clipped;
  std::optional<std::chrono::sys_seconds> date;
  std::exception_ptr error;
};

void write_bytes(png_structp png, png_bytep bytes, std::size_t count) {
  auto& job = *static_cast<Job*>(png_get_io_ptr(png));
  try {
    job.file->write(std::as_bytes(std::span(bytes, count)));
    return;
  } catch (...) {
    job.error = std::current_exception();
  }
  png_error(png, "write");
}

void flush(png_structp) {}

[[noreturn]] void leave(png_structp png, png_const_charp) { png_longjmp(png, 1); }

void ignore_warning(png_structp, png_const_charp) {}

bool is_ascii(const std::string& text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return c > 0; });
}

/// tEXt where its Latin-1 and UTF-8 agree, iTXt otherwise.
png_text text_chunk(const char* keyword, std::string& text) {
  png_text chunk = {};
  chunk.compression = is_ascii(text) ? PNG_TEXT_COMPRESSION_NONE : PNG_ITXT_COMPRESSION_NONE;
  chunk.key = const_cast<char*>(keyword);  // NOLINT: libpng only reads it
  chunk.text = text.data();
  chunk.text_length = text.size();
  return chunk;
}

void write_header(png_structp png, png_infop info, Job& job) {
  const Size size = job.picture->size;
  png_set_IHDR(png, info, static_cast<png_uint_32>(size.width_px),
               static_cast<png_uint_32>(size.height_px), 16,
               job.picture->channels == 3 ? PNG_COLOR_TYPE_RGB : PNG_COLOR_TYPE_GRAY,
               PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
  const png_text texts[] = {text_chunk("Software", job.software),
                            text_chunk("Description", job.description)};
  png_set_text(png, info, texts, 2);
  if (!job.profile.empty()) {
    png_set_iCCP(png, info, "sRGB", PNG_COMPRESSION_TYPE_BASE,
                 reinterpret_cast<png_const_bytep>(job.profile.data()),
                 static_cast<png_uint_32>(job.profile.size()));
  }
  if (job.date) {
    png_time time = {};
    png_convert_from_time_t(&time, std::chrono::system_clock::to_time_t(*job.date));
    png_set_tIME(png, info, &time);
  }
  png_set_compression_buffer_size(png, std::size_t{1} << 18U);
  // Noise in the low bytes does not compress: higher levels cost seconds and win a percent.
  png_set_compression_level(png, 3);
  png_write_info(png, info);
  const std::uint16_t probe = 1;
  if (*reinterpret_cast<const std::uint8_t*>(&probe) == 1) png_set_swap(png);
}

/// Encodes row y into job.row; false when its band cannot be had.
bool next_row(Job& job, int y) {
  try {
    if (y % kBandRows == 0)
      job.band = job.picture->rows(y, std::min(y + kBandRows, job.picture->size.height_px));
    job.clipped += encode_row(job.band.channels, y % kBandRows, *job.encoding, job.row);
    return true;
  } catch (...) {
    job.error = std::current_exception();
    return false;
  }
}

/// False when libpng gave up. No local variable with a destructor, none changed after setjmp.
bool encode(png_structp png, png_infop info, Job& job) {
  if (setjmp(png_jmpbuf(png)) != 0) return false;  // NOLINT: libpng's way to report errors
  write_header(png, info, job);
  for (int y = 0; y < job.picture->size.height_px; ++y) {
    if (!next_row(job, y)) return false;
    png_write_row(png, reinterpret_cast<png_const_bytep>(job.row.data()));
  }
  png_write_end(png, info);
  return true;
}

}  // namespace

Clipped write_png16(const std::filesystem::path& path, const PictureView& picture,
                    const Encoding& encoding, const Metadata& metadata) {
  return write_png16_bands(path, bands_of(picture, encoding), encoding, metadata);
}

Clipped write_png16_bands(const std::filesystem::path& path, const PictureBands& picture,
                          const Encoding& encoding, const Metadata& metadata) {
  check_bands(picture, encoding);
  AtomicFile file(path);
  Job job;
  job.file = &file;
  job.picture = &picture;
  job.encoding = &encoding;
  job.description = describe(metadata, encoding);
  job.date = metadata.date;
  if (metadata.transfer == Transfer::screen)
    job.profile = srgb_profile(static_cast<int>(picture.channels));
  job.row.resize(static_cast<std::size_t>(picture.size.width_px) * picture.channels);

  png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, nullptr, leave, ignore_warning);
  png_infop info = png != nullptr ? png_create_info_struct(png) : nullptr;
  bool done = false;
  if (info != nullptr) {
    png_set_write_fn(png, &job, write_bytes, flush);
    done = encode(png, info, job);
  }
  png_destroy_write_struct(&png, &info);
  if (job.error) std::rethrow_exception(job.error);
  // The picture is checked, and what writing throws is kept: only memory can be missing.
  if (!done) throw std::bad_alloc();
  file.commit();
  return job.clipped;
}

}  // namespace lull::files
