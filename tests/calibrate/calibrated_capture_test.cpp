// Covers: calibrate/changed_capture
#include "calibrate/calibrated_capture.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <memory>
#include <set>

#include "core/error.h"
#include "support/frames.h"
#include "support/masters.h"
#include "support/memory_capture.h"
#include "support/text.h"

using namespace lull;
using namespace lull::test;
using capture::CaptureInfo;

TEST_SUITE("calibrate/calibrated_capture") {
  namespace {

  constexpr Size kSize{9, 7};

  /// Frame f is filled with 100 + f.
  std::unique_ptr<MemoryCapture> counting_capture() {
    std::vector<Samples> frames;
    for (std::uint16_t f = 0; f < 6; ++f) {
      frames.emplace_back(63, static_cast<std::uint16_t>(100 + f));
    }
    CaptureInfo info = mono_info(kSize, 12);
    info.notes = {"a note of the capture"};
    info.times.frames_per_s = 50;
    return std::make_unique<MemoryCapture>(info, frames, std::set<FrameIndex>{2});
  }

  std::unique_ptr<capture::Capture> calibrated_counting() {
    auto source = counting_capture();
    calibrate::Masters masters;
    masters.dark = master_of(source->info(), Samples(63, 60), 1);
    calibrate::Calibration calibration(source->info(), std::move(masters));
    return calibrate::calibrated(std::move(source), std::move(calibration));
  }

  /// 4096 + 40000 * (100 + f - 60) / 4095, rounded; f = 0 to 5.
  constexpr std::array<std::uint16_t, 6> kExpected = {4487, 4496, 4506, 4516, 4526, 4536};

  }  // namespace

  TEST_CASE("the stated scale converts the samples back to linear light") {
    const auto capture = calibrated_counting();
    const CaptureInfo& info = capture->info();
    CHECK(info.sample_type == SampleType::u16);
    CHECK(info.bits.stored == 16);
    CHECK(!info.bits.high_aligned);
    CHECK(info.full_scale == 65535);
    CHECK(info.times.frames_per_s == 50);
    CHECK(info.scale.to_light(44096) == doctest::Approx(1));
    CHECK(has_note(info.notes, "a note of the capture"));
    CHECK(has_note(info.notes, "single frame"));
    const auto frame = capture->next();
    REQUIRE(frame.ok());
    Plane light(kSize);
    to_plane(frame.value().planes[0], info.scale, light.view());
    // 40 of 4095, to half an output unit.
    CHECK(std::abs(static_cast<double>(light.row(3)[4]) - 40.0 / 4095) < 0.5 / 40000 + 1e-8);
  }

  TEST_CASE("order, damage, times and tally are the source's") {
    const auto capture = calibrated_counting();
    for (int round = 0; round < 2; ++round) {
      for (FrameIndex f = 0; f < 6; ++f) {
        const auto outcome = capture->next();
        REQUIRE(outcome.ok() == (f != 2));
        if (!outcome.ok()) {
          CHECK(outcome.reason() == Reject::damaged);
          continue;
        }
        CHECK(outcome.value().index == f);
        CHECK(outcome.value().time_s == doctest::Approx(0.01 * static_cast<double>(f)));
        CHECK(samples_in(outcome.value()) == Samples(63, kExpected[static_cast<std::size_t>(f)]));
      }
      const auto end = capture->next();
      REQUIRE(!end.ok());
      CHECK(end.reason() == Reject::past_the_end);
      CHECK(capture->tally().frames == 6);
      CHECK(capture->tally().damaged == 1);
      capture->rewind();
      CHECK(capture->tally().frames == 0);
    }
    const auto fourth = capture->at(4);
    REQUIRE(fourth.ok());
    CHECK(samples_in(fourth.value()) == Samples(63, kExpected[4]));
    CHECK(capture->next().value().index == 5);
    CHECK(!capture->at(2).ok());
    CHECK(!capture->at(17).ok());
  }

  TEST_CASE("a frame outlives its capture") {
    auto capture = calibrated_counting();
    const capture::Frame frame = capture->at(3).value();
    capture.reset();
    CHECK(samples_in(frame) == Samples(63, kExpected[3]));
  }

  TEST_CASE("a dark brighter than the capture is refused; some noise below black is not") {
    const CaptureInfo info = mono_info(kSize, 12);
    const auto refused = [&](std::uint16_t dark_level) {
      auto source = counting_capture();
      calibrate::Masters masters;
      masters.dark = master_of(info, Samples(63, dark_level));
      calibrate::Calibration calibration(info, std::move(masters));
      const auto capture = calibrate::calibrated(std::move(source), std::move(calibration));
      try {
        calibrate::check_dark_is_darker(*capture, "the_dark");
      } catch (const InputError& error) {
        CHECK(std::string(error.what()).find("the_dark") != std::string::npos);
        return true;
      }
      CHECK(capture->next().value().index == 0);
      return false;
    };
    CHECK_FALSE(refused(60));
    CHECK_FALSE(refused(200));  // 0.024 below black
    CHECK(refused(400));        // 0.073
  }
}
