#include "campaign/small_captures.h"

#include <algorithm>
#include <cstring>
#include <span>

#include "capture/capture.h"
#include "support/bytes.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

namespace lull::test {

namespace {

constexpr int kWidth = 64;
constexpr int kHeight = 48;
constexpr int kFrames = 6;

/// The middle of the first frames of a sample.
std::vector<Bytes> pictures_of(const std::string& name) {
  const auto capture = capture::Capture::open(sample(name));
  std::vector<Bytes> pictures;
  while (static_cast<int>(pictures.size()) < kFrames) {
    const auto frame = capture->next();
    if (!frame.ok()) continue;
    const SampleView& plane = frame.value().planes[0];
    const std::ptrdiff_t bytes = plane.type == SampleType::u8 ? 1 : 2;
    const int x0 = (plane.width_px - kWidth) / 4 * 2;  // even: keeps a mosaic's order
    const int y0 = (plane.height_px - kHeight) / 4 * 2;
    Bytes& picture = pictures.emplace_back();
    for (int y = y0; y < y0 + kHeight; ++y) {
      const std::byte* row = plane.data + y * plane.stride_bytes + x0 * bytes;
      picture.insert(picture.end(), row, row + kWidth * bytes);
    }
  }
  return pictures;
}

/// Gray as YUV 4:2:0 whose differences vary a little.
std::vector<Bytes> in_colour(std::vector<Bytes> pictures) {
  for (Bytes& picture : pictures) {
    const std::size_t pixels = picture.size();
    for (std::size_t i = 0; i < pixels / 2; ++i)
      picture.push_back(static_cast<std::byte>(120 + i % 16));
  }
  return pictures;
}

/// The sample's header with other numbers, frames, and a stamp each (see tests/capture/ser_test).
Bytes ser_of(const std::vector<Bytes>& pictures) {
  Bytes file = read_file(sample("ringed_faint.ser"));
  file.resize(178);
  put_integer(file, 26, kWidth);
  put_integer(file, 30, kHeight);
  put_integer(file, 38, static_cast<std::int32_t>(pictures.size()));
  for (const Bytes& picture : pictures) file.insert(file.end(), picture.begin(), picture.end());
  for (std::size_t i = 0; i < pictures.size(); ++i) {
    const std::int64_t ticks = 638'000'000'000'000'000 + 200'000 * static_cast<std::int64_t>(i);
    const auto stamp = std::as_bytes(std::span(&ticks, 1));
    file.insert(file.end(), stamp.begin(), stamp.end());
  }
  return file;
}

/// Big-endian words behind one block of header (FITS Standard 4.0, section 4).
Bytes fits_of(const std::vector<Bytes>& pictures) {
  std::string header;
  const auto card = [&header](const std::string& key, const std::string& value) {
    std::string text = key;
    text.resize(8, ' ');
    text += "= " + std::string(20 - value.size(), ' ') + value;
    text.resize(80, ' ');
    header += text;
  };
  card("SIMPLE", "T");
  card("BITPIX", "16");
  card("NAXIS", "3");
  card("NAXIS1", std::to_string(kWidth));
  card("NAXIS2", std::to_string(kHeight));
  card("NAXIS3", std::to_string(pictures.size()));
  card("BZERO", "32768");
  header += "END";
  header.resize(2880, ' ');
  Bytes file = lab::bytes_of(std::vector<std::uint8_t>(header.begin(), header.end()));
  for (const Bytes& picture : pictures) {
    for (std::size_t i = 0; i + 1 < picture.size(); i += 2) {
      file.push_back(picture[i + 1] ^ std::byte{0x80});
      file.push_back(picture[i]);
    }
  }
  file.resize((file.size() + 2879) / 2880 * 2880);
  return file;
}

}  // namespace

std::vector<SmallCapture> small_captures(const TemporaryFolder& folder) {
  const auto surface = pictures_of("highland.mkv");
  const auto mosaic = pictures_of("belts_mosaic.nut");
  const auto deep = pictures_of("globe_cube.fits");
  std::vector<SmallCapture> captures;
  const auto add = [&](const std::string& name, VideoFormat format,
                       const std::vector<Bytes>& pictures) {
    format.width_px = kWidth;
    format.height_px = kHeight;
    format.bit_exact = true;
    write_video(folder.file(name), format, pictures);
    captures.push_back({name, read_file(folder.file(name))});
  };
  captures.push_back({"gray.ser", ser_of(surface)});
  captures.push_back({"deep.fits", fits_of(deep)});
  add("gray.avi", {}, surface);
  add("ffv1.mkv", {.codec = "ffv1"}, surface);
  add("deep.mkv", {.codec = "ffv1", .pixel_format = "gray16le"}, deep);
  add("mosaic.nut", {.pixel_format = "bayer_rggb8"}, mosaic);
  add("yuv.avi", {.pixel_format = "yuv420p"}, in_colour(surface));
  add("motion.avi", {.codec = "mjpeg", .pixel_format = "yuvj420p"}, in_colour(surface));
  add("coded.mp4", {.codec = "libx264", .pixel_format = "yuv420p", .group = 3}, in_colour(surface));
  add("png.mkv", {.codec = "png"}, surface);
  return captures;
}

}  // namespace lull::test
