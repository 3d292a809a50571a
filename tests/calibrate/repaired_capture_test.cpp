#include "calibrate/repaired_capture.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <memory>
#include <random>

#include "support/frames.h"
#include "support/memory_capture.h"
#include "support/text.h"

using namespace lull;
using test::MemoryCapture;
using test::Samples;

TEST_SUITE("calibrate/repaired_capture") {
  namespace {

  constexpr Size kSize{72, 60};

  struct Spot {
    int x;
    int y;
    int excess;
  };

  std::size_t at(int x, int y) {
    return static_cast<std::size_t>(std::ptrdiff_t{y} * kSize.width_px + x);
  }

  // Blobs that move by a few pixels (or do not move), noise of 3 units, and defects that stay.
  std::vector<Samples> wandering(int frames, double reach, const std::vector<Spot>& spots) {
    std::mt19937 random(11);
    std::normal_distribution<double> noise(0, 3);
    std::vector<Samples> out;
    for (int i = 0; i < frames; ++i) {
      const double dx = reach * std::sin(1.3 * i);
      const double dy = reach * std::cos(0.9 * i);
      Samples samples(at(0, kSize.height_px));
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) {
          double light = 60;
          // The second is a star at critical sampling: half its height 1.03 px from its centre.
          for (const auto& [cx, cy, width, height] :
               {std::array{30.0, 25.0, 9.0, 90.0}, std::array{50.0, 40.0, 0.88, 120.0}}) {
            const double r2 = std::pow(x - cx - dx, 2) + std::pow(y - cy - dy, 2);
            light += height * std::exp(-r2 / (2 * width * width));
          }
          samples[at(x, y)] = static_cast<std::uint16_t>(std::lround(light + noise(random)));
        }
      }
      for (const Spot& spot : spots) {
        auto& sample = samples[at(spot.x, spot.y)];
        sample = static_cast<std::uint16_t>(std::max(0, sample + spot.excess));
      }
      out.push_back(std::move(samples));
    }
    return out;
  }

  // Frames whose samples nobody else holds; a copy of each is held on demand.
  class OwnFrames final : public MemoryCapture {
   public:
    using MemoryCapture::MemoryCapture;

    [[nodiscard]] Outcome<capture::Frame> at(FrameIndex index) override {
      capture::Frame frame = MemoryCapture::at(index).value();
      frame.sole_owner = true;
      samples = frame.planes[0].data;
      if (hold) held = frame;
      return frame;
    }

    bool hold = false;
    capture::Frame held;
    const std::byte* samples = nullptr;
  };

  std::unique_ptr<capture::Capture> repaired(const capture::CaptureInfo& info,
                                             const std::vector<Samples>& frames) {
    auto source = std::make_unique<MemoryCapture>(info, frames);
    calibrate::SensorSum sum = calibrate::sensor_sum(*source, {});
    return calibrate::repaired(std::move(source), std::move(sum));
  }

  std::vector<std::pair<int, int>> marks(const calibrate::DefectMask& mask) {
    std::vector<std::pair<int, int>> out;
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        if (mask.at(x, y)) out.emplace_back(x, y);
      }
    }
    return out;
  }

  }  // namespace

  TEST_CASE("finds pixels that stay while the object wanders, and nothing else") {
    const std::vector<Spot> spots = {{12, 8, 60}, {33, 27, 80}, {60, 50, -45}};
    for (const bool mosaic : {false, true}) {
      CAPTURE(mosaic);
      const auto info =
          mosaic ? test::mosaic_info(kSize, 8, capture::Cfa::rggb) : test::mono_info(kSize, 8);
      MemoryCapture capture(info, wandering(30, 3, spots));
      const auto masks = calibrate::find_defects(info, calibrate::sensor_sum(capture, {}));
      REQUIRE(masks.size() == 1);
      CHECK(marks(masks[0]) == std::vector<std::pair<int, int>>{{12, 8}, {33, 27}, {60, 50}});
      CHECK(capture.tally().frames == 0);  // rewound
    }
  }

  TEST_CASE("a star that stands still is not a hot pixel") {
    for (const bool mosaic : {false, true}) {
      CAPTURE(mosaic);
      const auto info =
          mosaic ? test::mosaic_info(kSize, 8, capture::Cfa::rggb) : test::mono_info(kSize, 8);
      MemoryCapture capture(info, wandering(30, 0, {}));
      const auto masks = calibrate::find_defects(info, calibrate::sensor_sum(capture, {}));
      REQUIRE(masks.size() == 1);
      CHECK(marks(masks[0]).empty());
    }
  }

  TEST_CASE("repaired frames have the neighbours' light there and are otherwise the same") {
    const auto frames = wandering(30, 3, {{12, 8, 60}});
    auto capture = repaired(test::mono_info(kSize, 8), frames);
    REQUIRE(capture->info().notes.size() == 1);
    CHECK(capture->info().notes[0].find(
              "1 hot or cold pixel, found in the capture itself, is repaired") !=
          std::string::npos);
    const auto frame = capture->at(7);
    REQUIRE(frame.ok());
    for (int y = 0; y < kSize.height_px; ++y) {
      const auto* row = frame.value().planes[0].row<std::uint8_t>(y);
      for (int x = 0; x < kSize.width_px; ++x) {
        if (x == 12 && y == 8) {
          CHECK(std::abs(row[x] - 60) < 12);
        } else {
          REQUIRE(row[x] == frames[7][at(x, y)]);
        }
      }
    }
  }

  TEST_CASE("samples that others hold stay as they are, others are repaired in place") {
    const auto frames = wandering(30, 3, {{12, 8, 60}});
    auto source = std::make_unique<OwnFrames>(test::mono_info(kSize, 8), frames);
    OwnFrames& given = *source;
    auto sum = calibrate::sensor_sum(given, {});
    const auto capture = calibrate::repaired(std::move(source), std::move(sum));
    const auto at_defect = [](const capture::Frame& frame) {
      return int{frame.planes[0].row<std::uint8_t>(8)[12]};
    };
    const auto in_place = capture->at(7);
    CHECK(in_place.value().planes[0].data == given.samples);
    given.hold = true;
    const auto copied = capture->at(7);
    CHECK(at_defect(copied.value()) == at_defect(in_place.value()));
    CHECK(std::abs(at_defect(copied.value()) - 60) < 12);
    CHECK(at_defect(given.held) == frames[7][at(12, 8)]);
  }

  TEST_CASE("captures of few frames, or of nothing but noise, are left alone") {
    MemoryCapture brief(test::mono_info(kSize, 8), wandering(8, 3, {{12, 8, 60}}));
    CHECK(calibrate::find_defects(brief.info(), calibrate::sensor_sum(brief, {})).empty());
    CHECK(repaired(test::mono_info(kSize, 8), wandering(30, 3, {}))->info().notes.empty());
  }

  // Pixels under other colour filters would look like defects.
  TEST_CASE("nothing is repaired while the colour filters are doubtful, and a note reports it") {
    const auto frames = wandering(30, 3, {{12, 8, 60}});
    auto info = test::mono_info(kSize, 8);
    info.cfa_doubtful = true;
    auto capture = repaired(info, frames);
    CHECK(test::has_note(capture->info().notes, "the colour filters are doubtful"));
    const auto frame = capture->at(7);
    REQUIRE(frame.ok());
    CHECK(frame.value().planes[0].row<std::uint8_t>(8)[12] == frames[7][at(12, 8)]);
  }
}
