#include "run/memory_need.h"

#include <doctest/doctest.h>

#include "capture/capture_info.h"
#include "run/enlargement.h"
#include "run/memory_size.h"

using namespace lull;

namespace {

capture::CaptureInfo frames_of_vga(const char* codec) {
  capture::CaptureInfo info;
  info.size = {640, 480};
  info.bits.stored = 8;
  info.storage.codec = codec;
  return info;
}

constexpr double kFrame = 640 * 480;
constexpr double kNeed = 80e6;

}  // namespace

// The figures on which the choice rests: bench/README.md, Memory of a stack.
TEST_SUITE("run/memory_need") {
  TEST_CASE("of raw frames those of the reference are kept") {
    const run::Spare spare = run::spare_memory(frames_of_vga("rawvideo"), kNeed, {});
    CHECK(static_cast<double>(spare.cache) > 60 * kFrame);
    CHECK(static_cast<double>(spare.cache) < 62 * kFrame);
    CHECK(static_cast<double>(spare.at_work) == doctest::Approx(16 * 14 * kFrame));
  }

  TEST_CASE("decoded frames are kept, as far as half of the free memory allows") {
    const double before = run::free_memory();
    REQUIRE(before > 1e9);
    const run::Spare spare = run::spare_memory(frames_of_vga("h264"), kNeed, {});
    const double all = static_cast<double>(spare.cache + spare.at_work) + kNeed;
    // Other programs take memory meanwhile.
    CHECK(all < 0.6 * before);
    CHECK(all > 0.3 * before);
    // Frames whose batch takes as much as the cache: both together stay within the same bound.
    capture::CaptureInfo large = frames_of_vga("h264");
    large.size = {20000, 15000};
    const run::Spare shared = run::spare_memory(large, kNeed, {});
    CHECK(static_cast<double>(shared.cache + shared.at_work) + kNeed < 0.6 * before);
    CHECK(shared.at_work > 0);
  }

  // The picture is part of the need, so what is kept of frames leaves room for it.
  TEST_CASE("without --memory an enlarged stack takes no more of the machine than another") {
    const double before = run::free_memory();
    const capture::CaptureInfo info = frames_of_vga("h264");
    const double plain = run::need_of_stack(info, stack::Fusion::none);
    for (const double scale : {1.0, 2.0, 3.0}) {
      CAPTURE(scale);
      const double need = plain + run::need_of_enlargement({scale, 0.7}, info);
      REQUIRE(need < 0.4 * before);
      const run::Spare spare = run::spare_memory(info, need, {});
      const double all = static_cast<double>(spare.cache + spare.at_work) + need;
      CHECK(all < 0.6 * before);  // other programs take memory meanwhile
      CHECK(all > 0.3 * before);
    }
    // 9 pixels for each of a frame, 150 bytes each, as src/docs/stack.md has it.
    CHECK(run::need_of_enlargement({3, 0.7}, info) == doctest::Approx(9 * 150 * kFrame));
    CHECK(run::need_of_enlargement({1, 1}, info) == 0);
  }

  TEST_CASE("--memory is shared between the cache and frames at work, need first") {
    run::Resources resources;
    resources.memory_bytes = 180'000'000;
    for (const char* codec : {"rawvideo", "ffv1"}) {
      const run::Spare spare = run::spare_memory(frames_of_vga(codec), kNeed, resources);
      CHECK(static_cast<double>(spare.cache) == doctest::Approx(60e6));
      CHECK(static_cast<double>(spare.at_work) == doctest::Approx(40e6));
    }
    resources.memory_bytes = 70'000'000;
    const run::Spare none = run::spare_memory(frames_of_vga("ffv1"), kNeed, resources);
    CHECK(none.cache == 0);
    CHECK(none.at_work == 0);
  }
}
