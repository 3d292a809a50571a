#include "calibrate/part_of_capture.h"

#include <doctest/doctest.h>

#include "core/error.h"
#include "support/memory_capture.h"
#include "support/temporary_folder.h"
#include "support/text.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::test;
using calibrate::Part;

TEST_SUITE("calibrate/part_of_capture") {
  namespace {

  constexpr Size kSize{12, 10};

  // Sample (x, y) of frame n is 10 n + x + 20 y: each of them tells where it comes from.
  std::unique_ptr<MemoryCapture> numbered(const capture::CaptureInfo& info, int frames,
                                          std::set<FrameIndex> damaged = {}) {
    std::vector<Samples> pictures;
    for (int n = 0; n < frames; ++n) {
      Samples picture;
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x)
          picture.push_back(static_cast<std::uint16_t>(10 * n + x + 20 * y));
      }
      pictures.push_back(std::move(picture));
    }
    return std::make_unique<MemoryCapture>(info, std::move(pictures), std::move(damaged));
  }

  std::string refused(capture::Capture& source, const Part& part) {
    return message_of<UsageError>([&] { calibrate::check_part(source, part); });
  }

  }  // namespace

  TEST_CASE("a crop of a mosaic keeps every sample with its colour, at any offset") {
    using capture::Cfa;
    for (const Cfa cfa : {Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg}) {
      for (const auto& place : {Place{0, 0}, Place{3, 0}, Place{0, 5}, Place{3, 5}, Place{4, 2}}) {
        CAPTURE(capture::cfa_name(cfa));
        CAPTURE(place.x);
        CAPTURE(place.y);
        Part part;
        part.crop = Box{place.x, place.y, place.x + 7, place.y + 4};
        auto source = numbered(mosaic_info(kSize, 16, cfa), 2);
        CHECK_NOTHROW(calibrate::check_part(*source, part));
        const auto cropped = calibrate::part_of(std::move(source), part);
        CHECK(cropped->info().size == Size{7, 4});
        const auto frame = cropped->at(1);
        REQUIRE(frame.ok());
        CHECK(frame.value().size() == Size{7, 4});
        for (int y = 0; y < 4; ++y) {
          for (int x = 0; x < 7; ++x) {
            CHECK(frame.value().planes[0].row<std::uint16_t>(y)[x] ==
                  10 + x + place.x + 20 * (y + place.y));
            CHECK(capture::cfa_colour_at(cropped->info().cfa, x, y) ==
                  capture::cfa_colour_at(cfa, x + place.x, y + place.y));
          }
        }
      }
    }
  }

  TEST_CASE("a crop of YUV takes the colour differences of the same place, and keeps their grid") {
    const TemporaryFolder folder;
    const std::string path = folder.file("a.nut");
    // yuv420p: 8 x 6 luma, 4 x 3 of each difference.
    std::vector<std::uint8_t> bytes;
    bytes.reserve(48 + 12 + 12);
    for (int i = 0; i < 48; ++i) bytes.push_back(static_cast<std::uint8_t>(50 + i));
    for (int i = 0; i < 12; ++i) bytes.push_back(static_cast<std::uint8_t>(100 + i));
    for (int i = 0; i < 12; ++i) bytes.push_back(static_cast<std::uint8_t>(150 + i));
    write_video(path, {.pixel_format = "yuv420p", .width_px = 8, .height_px = 6},
                {bytes_of(bytes)});
    Part part;
    part.crop = Box{2, 2, 7, 5};
    auto source = capture::Capture::open(path);
    REQUIRE(source->info().colour == capture::Colour::yuv);
    CHECK_NOTHROW(calibrate::check_part(*source, part));
    Part odd;
    odd.crop = Box{3, 2, 7, 5};
    const std::string message = refused(*source, odd);
    CHECK(contains(message, "one colour for 2 x 2 px"));
    CHECK(contains(message, "2,2,4,3"));
    const auto cropped = calibrate::part_of(std::move(source), part);
    const auto frame = cropped->next();
    REQUIRE(frame.ok());
    CHECK(frame.value().planes[0].row<std::uint8_t>(1)[2] == 50 + 8 * 3 + 4);
    CHECK(frame.value().chroma[0].size() == Size{3, 2});
    CHECK(frame.value().chroma[0].row<std::uint8_t>(1)[2] == 100 + 4 * 2 + 3);
    CHECK(frame.value().chroma[1].row<std::uint8_t>(0)[0] == 150 + 4 * 1 + 1);
  }

  TEST_CASE("frames that are left out are passed over; the others keep their numbers") {
    Part part;
    part.frames = {{2, 4}, {6, 8}};
    part.excluded = {{3, 3}, {7, 7}};
    const auto chosen = calibrate::part_of(numbered(mono_info(kSize, 16), 12, {4}), part);
    std::vector<FrameIndex> seen;
    std::vector<FrameIndex> damaged;
    for (int pass = 0; pass < 2; ++pass) {
      seen.clear();
      damaged.clear();
      for (auto frame = chosen->next();; frame = chosen->next()) {
        if (!frame.ok() && frame.reason() == Reject::past_the_end) break;
        if (!frame.ok()) {
          damaged.push_back(chosen->tally().frames - 1);
          continue;
        }
        seen.push_back(frame.value().index);
        CHECK(frame.value().planes[0].row<std::uint16_t>(0)[0] == 10 * frame.value().index);
      }
      CHECK(seen == std::vector<FrameIndex>{2, 6, 8});
      CHECK(damaged == std::vector<FrameIndex>{4});
      chosen->rewind();
    }
    REQUIRE(chosen->at(6).ok());
    CHECK(chosen->at(6).value().index == 6);
  }

  TEST_CASE("what the capture does not have is refused before any work") {
    auto source = numbered(mono_info(kSize, 16), 12);
    Part part;
    part.crop = Box{0, 0, 13, 10};
    CHECK(contains(refused(*source, part), "frames of"));
    CHECK(contains(refused(*source, part), "12 x 10 px"));
    part = {};
    part.frames = {{3, 12}};
    CHECK(contains(refused(*source, part), "--frames 3-12"));
    CHECK(contains(refused(*source, part), "no frame 12"));
    part.frames = {{3, 11}};
    CHECK_NOTHROW(calibrate::check_part(*source, part));
    CHECK(source->next().value().index == 0);  // it stands where it stood
    part.excluded = {{5, 5}, {99, 99}};
    CHECK(contains(refused(*source, part), "--exclude 5,99"));
    part.excluded = {{2, 11}};
    CHECK(contains(refused(*source, part), "leaves no frame"));
    part.frames.clear();
    part.excluded = {{0, 11}};
    CHECK(contains(refused(*source, part), "leaves no frame"));
    part.excluded = {{0, 10}};
    CHECK_NOTHROW(calibrate::check_part(*source, part));
  }
}
