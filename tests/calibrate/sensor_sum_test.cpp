#include "calibrate/sensor_sum.h"

#include <doctest/doctest.h>

#include <utility>

#include "core/progress.h"
#include "support/memory_capture.h"

// Sums of whole numbers, worked by hand.
TEST_SUITE("calibrate/sensor_sum") {
  namespace {

  using namespace lull;
  using calibrate::SensorSum;

  constexpr Size kFrame{5, 4};

  /// Frame i holds i everywhere, and 1000 more in its first pixel.
  test::MemoryCapture counting(capture::CaptureInfo info, int frames,
                               std::set<FrameIndex> damaged = {}) {
    std::vector<test::Samples> samples;
    const std::size_t planes = info.colour == capture::Colour::rgb ? 3 : 1;
    const auto area = static_cast<std::size_t>(info.size.area_px());
    for (int i = 0; i < frames; ++i) {
      test::Samples frame(area * planes, static_cast<std::uint16_t>(i));
      frame[0] = static_cast<std::uint16_t>(i + 1000);
      samples.push_back(std::move(frame));
    }
    info.storage.header_frames = frames;
    return {std::move(info), std::move(samples), std::move(damaged)};
  }

  capture::CaptureInfo info_of(bool by_index) {
    capture::CaptureInfo info = test::mono_info(kFrame, 12);
    info.storage.intra_only = by_index;
    return info;
  }

  }  // namespace

  TEST_CASE("the earlier and the later half of a short capture, to the last bit") {
    test::MemoryCapture capture = counting(info_of(true), 10);
    const SensorSum sum = calibrate::sensor_sum(capture, Progress{});
    CHECK(sum.frames[0] == 5);
    CHECK(sum.frames[1] == 5);
    CHECK(sum.halves[0][0].row(3)[4] == 0 + 1 + 2 + 3 + 4);
    CHECK(sum.halves[1][0].row(3)[4] == 5 + 6 + 7 + 8 + 9);
    CHECK(sum.halves[0][0].row(0)[0] == 5010);
    const auto again = capture.next();
    REQUIRE(again.ok());
    CHECK(again.value().index == 0);  // rewound
  }

  TEST_CASE("48 frames spread over a long capture, or its first 48 where indices are dear") {
    test::MemoryCapture spread = counting(info_of(true), 480);
    const SensorSum far = calibrate::sensor_sum(spread, Progress{});
    CHECK(far.all_frames() == 48);
    CHECK(far.halves[0][0].row(1)[1] == 10 * (23 * 24 / 2));  // 0, 10 ... 230
    CHECK(far.halves[1][0].row(1)[1] == 10 * (47 * 48 / 2 - 23 * 24 / 2));
    test::MemoryCapture first = counting(info_of(false), 480);
    const SensorSum near = calibrate::sensor_sum(first, Progress{});
    CHECK(near.all_frames() == 48);
    CHECK(near.halves[1][0].row(1)[1] == 47 * 48 / 2 - 23 * 24 / 2);
  }

  TEST_CASE("damaged frames are left out, and the mean is over those that are there") {
    test::MemoryCapture capture = counting(info_of(true), 8, {1, 6});
    SensorSum sum = calibrate::sensor_sum(capture, Progress{});
    CHECK(sum.frames[0] == 3);
    CHECK(sum.frames[1] == 3);
    const auto mean = std::move(sum).mean();
    REQUIRE(mean.size() == 1);
    CHECK(mean[0].row(2)[2] == doctest::Approx((0 + 2 + 3 + 4 + 5 + 7) / 6.0));
  }

  TEST_CASE("three planes of a colour capture") {
    capture::CaptureInfo info = test::rgb_info(kFrame, 12);
    info.storage.intra_only = true;
    test::MemoryCapture capture = counting(info, 4);
    const SensorSum sum = calibrate::sensor_sum(capture, Progress{});
    REQUIRE(sum.halves[1].size() == 3);
    CHECK(sum.halves[1][0].row(0)[0] == 2005);
    CHECK(sum.halves[1][2].row(0)[0] == 5);
  }
}
