#include "calibrate/joined_capture.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "calibrate/master.h"
#include "core/error.h"
#include "support/temporary_folder.h"
#include "support/text.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::test;

namespace {

/// A picture of one value, 8 bit.
void write_even(const std::string& path, int width_px, std::uint8_t value,
                const std::string& codec = "png", const std::string& pixel_format = "gray") {
  VideoFormat format;
  format.codec = codec;
  format.pixel_format = pixel_format;
  format.width_px = width_px;
  format.height_px = 40;
  write_video(
      path, format,
      {bytes_of(std::vector<std::uint8_t>(static_cast<std::size_t>(width_px) * 40, value))});
}

}  // namespace

TEST_SUITE("calibrate/joined_capture") {
  TEST_CASE("a folder of pictures and captures is the mean of all their frames") {
    const TemporaryFolder folder;
    write_even(folder.file("a.png"), 48, 10);
    write_even(folder.file("b.PNG"), 48, 20);
    write_even(folder.file("c.avi"), 48, 60, "rawvideo");
    // Passed over: notes, hidden files, folders within.
    std::ofstream(folder.file("notes.txt")) << "darks of the first night\n";
    std::ofstream(folder.file(".hidden.png")) << "no picture\n";
    std::filesystem::create_directory(folder.file("older"));
    CHECK(calibrate::calibration_files(folder.path()).size() == 3);
    const auto master = calibrate::read_master(folder.path());
    CHECK(master.frames == 3);
    CHECK(static_cast<double>(master.planes[0].view().at(5, 7)) == doctest::Approx(30));
  }

  TEST_CASE("frames keep their order, by index too") {
    const TemporaryFolder folder;
    for (int i = 0; i < 4; ++i) {
      write_even(folder.file("f" + std::to_string(i) + ".png"), 48, static_cast<std::uint8_t>(i));
    }
    const auto joined = calibrate::open_joined(calibrate::calibration_files(folder.path()), {});
    for (const FrameIndex index : {2, 0, 3, 1}) {
      const auto frame = joined->at(index);
      REQUIRE(frame.ok());
      CHECK(frame.value().index == index);
      CHECK(frame.value().planes[0].row<std::uint8_t>(0)[0] == index);
    }
    CHECK(joined->at(4).reason() == Reject::past_the_end);
  }

  TEST_CASE("a folder without pictures is refused, by name") {
    const TemporaryFolder folder;
    std::ofstream(folder.file("notes.txt")) << "nothing\n";
    const auto message =
        message_of<InputError>([&] { (void)calibrate::read_master(folder.path()); });
    CHECK(contains(message, folder.path()));
    CHECK(contains(message, "holds no picture and no capture"));
  }

  TEST_CASE("a folder of mixed sizes is refused, with both sizes and both names") {
    const TemporaryFolder folder;
    write_even(folder.file("a.png"), 48, 10);
    write_even(folder.file("b.png"), 64, 10);
    const auto message =
        message_of<InputError>([&] { (void)calibrate::read_master(folder.path()); });
    CHECK(contains(message, "a.png"));
    CHECK(contains(message, "b.png"));
    CHECK(contains(message, "48 x 40"));
    CHECK(contains(message, "64 x 40"));
  }

  TEST_CASE("a folder of mixed mosaics is refused") {
    const TemporaryFolder folder;
    write_even(folder.file("a.nut"), 48, 10, "rawvideo", "bayer_rggb8");
    write_even(folder.file("b.nut"), 48, 10, "rawvideo", "bayer_gbrg8");
    const auto message =
        message_of<InputError>([&] { (void)calibrate::read_master(folder.path()); });
    CHECK(contains(message, "RGGB"));
    CHECK(contains(message, "GBRG"));
  }

  TEST_CASE("captures reached once are read at the frame itself, in any order") {
    const TemporaryFolder folder;
    const VideoFormat format{.width_px = 48, .height_px = 40, .frames_per_s = 10};
    std::vector<std::string> paths;
    std::uint8_t value = 0;
    for (const int frames : {3, 5, 1, 4, 2, 6}) {  // more than are open at once
      paths.push_back(folder.file(std::to_string(paths.size()) + ".avi"));
      std::vector<std::vector<std::byte>> pictures;
      pictures.reserve(static_cast<std::size_t>(frames));
      for (int i = 0; i < frames; ++i)
        pictures.push_back(bytes_of(std::vector<std::uint8_t>(std::size_t{48} * 40, value++)));
      write_video(paths.back(), format, pictures);
    }
    const auto joined = calibrate::open_joined(paths, {});
    CHECK(joined->info().storage.header_frames == 21);
    const auto check = [&](FrameIndex index, const Outcome<capture::Frame>& frame) {
      CAPTURE(index);
      REQUIRE(frame.ok());
      CHECK(frame.value().index == index);
      CHECK(frame.value().planes[0].row<std::uint8_t>(3)[5] == index);
      CHECK(frame.value().time_s == doctest::Approx(0.1 * static_cast<double>(index)));
    };
    for (FrameIndex i = 0; i < 21; ++i) check(i, joined->next());
    CHECK(joined->next().reason() == Reject::past_the_end);
    for (const FrameIndex i : {20, 2, 3, 8, 9, 0, 14, 12, 20, 7}) check(i, joined->at(i));
    check(8, joined->next());  // goes on after 7, into the next capture
    CHECK(joined->at(21).reason() == Reject::past_the_end);
    joined->rewind();
    check(0, joined->next());
  }
}
