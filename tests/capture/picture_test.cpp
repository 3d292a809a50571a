#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "capture/image_sequence.h"
#include "support/bytes.h"
#include "support/ffmpeg.h"
#include "support/frames.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

namespace {

constexpr std::size_t kPixels = std::size_t{64} * 48;

const VideoFormat kPng = {.codec = "png", .container = "image2"};

void put_number(const std::string& folder, int from, const std::string& to) {
  std::filesystem::rename(folder + "/written_" + std::to_string(from) + ".png", folder + "/" + to);
}

}  // namespace

TEST_SUITE("capture/image_sequence") {
  TEST_CASE("numbers begin wherever the first picture is") {
    const TemporaryFolder folder;
    const auto pictures = pictures_8(3, kPixels, 64);
    write_video(folder.file("written_%d.png"), kPng, pictures);
    put_number(folder.path(), 1, "moon_0998.png");
    put_number(folder.path(), 2, "moon_0999.png");
    put_number(folder.path(), 3, "moon_1000.png");
    const auto capture = Capture::open(folder.file("moon_%04d.png"));
    CHECK(all_frames(*capture) == pictures);
    CHECK(capture->info().storage.header_frames == 3);
    CHECK(capture->info().storage.intra_only);
  }

  TEST_CASE("only names that the pattern itself makes belong to it") {
    const TemporaryFolder folder;
    const auto pictures = pictures_8(3, kPixels, 64);
    write_video(folder.file("written_%d.png"), kPng, pictures);
    put_number(folder.path(), 1, "moon_0001.png");
    put_number(folder.path(), 2, "moon_2.png");
    put_number(folder.path(), 3, "moon_0003b.png");
    CHECK(all_frames(*Capture::open(folder.file("moon_%04d.png"))).size() == 1);
    CHECK(all_frames(*Capture::open(folder.file("moon_%d.png"))).size() == 1);
  }

  TEST_CASE("16-bit TIFF and PNG sequences keep their samples") {
    for (const std::string codec : {"png", "tiff"}) {
      CAPTURE(codec);
      const TemporaryFolder folder;
      const std::string pattern = folder.file("moon_%02d.") + (codec == "png" ? "png" : "tif");
      const auto native = pictures_16(3, kPixels, 64, 16, 0);
      auto written = native;
      const bool swaps = codec == "png";  // most significant byte first: PNG 1.2, section 2.1
      for (Bytes& picture : written) {
        for (std::size_t i = 0; swaps && i < picture.size(); i += 2)
          std::swap(picture[i], picture[i + 1]);
      }
      write_video(
          pattern,
          {.codec = codec, .pixel_format = swaps ? "gray16be" : "gray16le", .container = "image2"},
          written);
      const auto capture = Capture::open(pattern);
      CHECK(capture->info().bits.used == 16);
      CHECK(all_frames(*capture) == native);
    }
  }

  TEST_CASE("one picture is a capture of one frame, also with a number or a '%' in its name") {
    const TemporaryFolder folder;
    const auto pictures = pictures_8(2, kPixels, 64);
    write_video(folder.file("written_%d.png"), kPng, pictures);
    put_number(folder.path(), 1, "odd: 100%02d, moon_0001.png");
    const auto capture = Capture::open(folder.file("odd: 100%02d, moon_0001.png"));
    const auto frames = all_frames(*capture);
    REQUIRE(frames.size() == 1);
    CHECK(frames[0] == pictures[0]);
  }

  TEST_CASE("a pattern has one %d, with or without a width, in the last part of the path") {
    const auto pattern = parse_pattern("night%d/moon_%05d.tif");
    REQUIRE(pattern);
    CHECK(pattern->folder == "night%d/");
    CHECK(pattern->path_of(42) == "night%d/moon_00042.tif");
    REQUIRE(parse_pattern("100%%_%d.png"));
    CHECK(parse_pattern("100%%_%d.png")->path_of(7) == "100%_7.png");
    for (const char* wrong : {"moon.png", "%d_%d.png", "%s.png", "moon_%", "moon_%4", "%d/moon.png",
                              "moon_%999999999999d.png"}) {
      CAPTURE(wrong);
      CHECK_FALSE(parse_pattern(wrong));
    }
  }
}

TEST_SUITE("capture/palette") {
  // BI_RGB with 8 bits: a palette of 4-byte entries blue, green, red, 0 follows the 40-byte
  // BITMAPINFOHEADER; positive height: rows from the bottom up (Windows bitmap format; from
  // memory).
  TEST_CASE("8-bit AVI with a palette: a gray ramp is gray, others are looked up") {
    const TemporaryFolder folder;
    const std::string path = folder.file("palette.avi");
    const auto indices = pictures_8(2, kPixels, 64);
    const auto record = [&](auto entry) {
      std::vector<Bytes> pictures = indices;
      for (Bytes& picture : pictures) {
        for (unsigned i = 0; i < 256; ++i) {
          picture.resize(picture.size() + 4);
          put_integer(picture, picture.size() - 4, static_cast<std::int32_t>(entry(i)));
        }
      }
      write_video(path, {.pixel_format = "pal8"}, pictures);
      return Capture::open(path);
    };
    const auto ramp = record([](unsigned i) { return 0xFF000000U | (i * 0x010101U); });
    CHECK(ramp->info().storage.pixel_format == "pal8");
    CHECK(ramp->info().colour == Colour::mono);
    CHECK(all_frames(*ramp) == indices);

    const auto inverse = record([](unsigned i) { return 0xFF000000U | ((255 - i) * 0x010101U); });
    CHECK(inverse->info().colour == Colour::mono);
    auto inverted = indices[1];
    for (std::byte& sample : inverted) sample = ~sample;
    CHECK(all_frames(*inverse).at(1) == inverted);

    const auto tinted = record([](unsigned i) { return 0xFF000000U | (i << 16) | (i / 2); });
    CHECK(tinted->info().colour == Colour::rgb);
    const auto frame = tinted->next();
    REQUIRE(frame.ok());
    const auto sample = std::to_integer<unsigned>(indices[0][64 * 20 + 30]);
    CHECK(frame.value().planes[0].row<std::uint8_t>(20)[30] == sample);
    CHECK(frame.value().planes[1].row<std::uint8_t>(20)[30] == 0);
    CHECK(frame.value().planes[2].row<std::uint8_t>(20)[30] == sample / 2);
  }

  TEST_CASE("rows stored from the bottom up come out from the top down, without a copy") {
    const TemporaryFolder folder;
    const std::string path = folder.file("rows.avi");
    const auto pictures = pictures_8(2, 3 * kPixels, 64 * 3);
    write_video(path, {.pixel_format = "bgr24"}, pictures);
    const auto top_down = all_frames(*Capture::open(path));
    Bytes file = read_file(path);
    const std::size_t format = find_text(file, "strf");
    REQUIRE(format != SIZE_MAX);
    put_integer(file, format + 16, 48);  // was -48
    write_file(path, file);
    const auto flipped = all_frames(*Capture::open(path));
    REQUIRE(flipped.size() == top_down.size());
    REQUIRE(flipped[0].size() == top_down[0].size());
    for (std::size_t plane = 0; plane < 3; ++plane) {
      for (std::size_t y = 0; y < 48; ++y) {
        const auto ours =
            flipped[0].begin() + static_cast<std::ptrdiff_t>(plane * kPixels + y * 64);
        const auto theirs =
            top_down[0].begin() + static_cast<std::ptrdiff_t>(plane * kPixels + (47 - y) * 64);
        CHECK(std::equal(ours, ours + 64, theirs));
      }
    }
    const auto reference = decoded_by_ffmpeg(path, "gbrp", 3 * kPixels);
    CHECK(std::equal(flipped[0].begin() + kPixels, flipped[0].begin() + 2 * kPixels,
                     reference[0].begin()));  // green is ffmpeg's first plane
  }
}
