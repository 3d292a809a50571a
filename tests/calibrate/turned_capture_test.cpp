// Covers: core/turn
#include "calibrate/turned_capture.h"

#include <doctest/doctest.h>

#include <memory>
#include <set>
#include <vector>

#include "support/memory_capture.h"

using namespace lull;
using calibrate::TurnedFrames;
using test::MemoryCapture;
using test::Samples;

TEST_SUITE("calibrate/turned_capture") {
  namespace {

  Samples samples_of(const SampleView& plane) {
    Samples out;
    for (int y = 0; y < plane.height_px; ++y) {
      for (int x = 0; x < plane.width_px; ++x)
        out.push_back(plane.type == SampleType::u8 ? plane.row<std::uint8_t>(y)[x]
                                                   : plane.row<std::uint16_t>(y)[x]);
    }
    return out;
  }

  std::unique_ptr<capture::Capture> turned(const capture::CaptureInfo& info, int frames,
                                           const Samples& samples,
                                           std::vector<TurnedFrames> turns) {
    return calibrate::turned_back(
        std::make_unique<MemoryCapture>(
            info, std::vector<Samples>(static_cast<std::size_t>(frames), samples)),
        std::move(turns));
  }

  }  // namespace

  // The worked examples of the reference pages numpy.fliplr and numpy.flipud of NumPy:
  // A = diag(1, 2, 3); numpy.flip over both axes is one after the other.
  TEST_CASE("samples change places as in NumPy's examples, in the frames that are named") {
    const Samples diagonal = {1, 0, 0, 0, 2, 0, 0, 0, 3};
    for (const int bits : {8, 12}) {
      const auto capture =
          turned(test::mono_info({3, 3}, bits), 5, diagonal,
                 {{{1, 1}, Turn::left_right}, {{2, 3}, Turn::up_down}, {{4, 9}, Turn::half}});
      CHECK(samples_of(capture->next().value().planes[0]) == diagonal);
      CHECK(samples_of(capture->next().value().planes[0]) == Samples{0, 0, 1, 0, 2, 0, 3, 0, 0});
      CHECK(samples_of(capture->next().value().planes[0]) == Samples{0, 0, 3, 0, 2, 0, 1, 0, 0});
      CHECK(samples_of(capture->at(3).value().planes[0]) == Samples{0, 0, 3, 0, 2, 0, 1, 0, 0});
      CHECK(samples_of(capture->at(4).value().planes[0]) == Samples{3, 0, 0, 0, 2, 0, 0, 0, 1});
      CHECK(capture->at(0).value().size() == Size{3, 3});
    }
  }

  TEST_CASE("frames that come several at a time are those that come one by one") {
    const Samples diagonal = {1, 0, 0, 0, 2, 0, 0, 0, 3};
    const auto info = test::mono_info({3, 3}, 8);
    const std::vector<TurnedFrames> turns = {{{1, 3}, Turn::left_right}};
    const auto source = [&] {
      return std::make_unique<MemoryCapture>(info, std::vector<Samples>(5, diagonal),
                                             std::set<FrameIndex>{2});
    };
    const auto one_by_one = calibrate::turned_back(source(), turns);
    const auto together = calibrate::turned_back(source(), turns);
    for (const std::size_t asked : {3U, 4U}) {
      const auto block = together->next_frames(asked);
      CHECK(block.size() == (asked == 3 ? 3 : 2));
      for (const auto& next : block) {
        const auto alone = one_by_one->next();
        CHECK(next.index == one_by_one->tally().frames - 1);
        REQUIRE(next.frame.ok() == alone.ok());
        if (alone.ok())
          CHECK(samples_of(next.frame.value().planes[0]) == samples_of(alone.value().planes[0]));
        else
          CHECK(next.frame.reason() == Reject::damaged);
      }
    }
    CHECK(together->next_frames(1).empty());
  }

  TEST_CASE("a mosaic keeps its colours where they are, for even and odd sides") {
    for (const Size size : {Size{6, 4}, Size{5, 3}, Size{6, 3}}) {
      for (const Turn turn : {Turn::left_right, Turn::up_down, Turn::half}) {
        const auto info = test::mosaic_info(size, 8, capture::Cfa::grbg);
        Samples colours;
        Samples places;
        for (int y = 0; y < size.height_px; ++y) {
          for (int x = 0; x < size.width_px; ++x) {
            colours.push_back(
                static_cast<std::uint16_t>(capture::cfa_colour_at(capture::Cfa::grbg, x, y)));
            places.push_back(static_cast<std::uint16_t>(x + 10 * y));
          }
        }
        CHECK(samples_of(turned(info, 1, colours, {{{0, 0}, turn}})->at(0).value().planes[0]) ==
              colours);
        // All but the edge are a shifted mirror image: positions fall by one from one to the next.
        const auto out =
            samples_of(turned(info, 1, places, {{{0, 0}, turn}})->at(0).value().planes[0]);
        const auto at = [&](int x, int y) {
          return int{out[static_cast<std::size_t>(std::ptrdiff_t{y} * size.width_px + x)]};
        };
        CHECK(at(2, 1) - at(1, 1) == (swaps_columns(turn) ? -1 : 1));
        CHECK(at(1, 2) - at(1, 1) == (swaps_rows(turn) ? -10 : 10));
      }
    }
  }

  TEST_CASE("subsampled colour differences stay beside their light") {
    // 4:2:0, the first difference on the first luma sample (left and top) or between two (centre):
    // light is a ramp, and the differences are that ramp at their own places.
    constexpr Size kLuma{8, 6};
    for (const double first : {0.0, 0.5}) {
      auto info = test::mono_info(kLuma, 8);
      info.colour = capture::Colour::yuv;
      info.chroma.columns = 2;
      info.chroma.rows = 2;
      info.chroma.first_x_px = first;
      info.chroma.first_y_px = first;
      const auto ramp = [](double x, double y) {
        return static_cast<std::uint8_t>(20 * x + 2 * y);
      };
      static std::vector<std::uint8_t> light;
      static std::vector<std::uint8_t> differences;
      light.clear();
      differences.clear();
      for (int y = 0; y < kLuma.height_px; ++y)
        for (int x = 0; x < kLuma.width_px; ++x) light.push_back(ramp(x, y));
      for (int y = 0; y < 3; ++y)
        for (int x = 0; x < 4; ++x) differences.push_back(ramp(first + 2 * x, first + 2 * y));

      class Yuv final : public MemoryCapture {
       public:
        using MemoryCapture::MemoryCapture;

        Outcome<capture::Frame> at(FrameIndex index) override {
          capture::Frame frame;
          frame.index = index;
          frame.planes[0] = {reinterpret_cast<const std::byte*>(light.data()), 8, 6, 8,
                             SampleType::u8};
          frame.chroma.fill(
              {reinterpret_cast<const std::byte*>(differences.data()), 4, 3, 4, SampleType::u8});
          return frame;
        }
      };

      const auto capture = calibrate::turned_back(
          std::make_unique<Yuv>(info, std::vector<Samples>{}), {{{0, 0}, Turn::half}});
      const capture::Frame frame = capture->at(0).value();
      // Away from the edge, the light at the place of a difference is the difference.
      for (int y = 1; y < 3; ++y) {
        for (int x = 1; x < 4; ++x) {
          const auto row = [&](int j) {
            return frame.planes[0].row<std::uint8_t>(j) + std::ptrdiff_t{2} * x;
          };
          const std::uint8_t* up = row(2 * y);
          const std::uint8_t* down = row(2 * y + 1);
          const double beside = first == 0 ? up[0] : (up[0] + up[1] + down[0] + down[1]) / 4.0;
          CHECK(std::abs(frame.chroma[0].row<std::uint8_t>(y)[x] - beside) <= 1);
        }
      }
    }
  }

  TEST_CASE("rows that a stopped transfer left are those of the frame as recorded") {
    const auto capture =
        turned(test::mono_info({2, 3}, 8), 1, {1, 2, 3, 3, 3, 3}, {{{0, 0}, Turn::up_down}});
    CHECK(capture->at(0).value().dead_rows == 2);
  }
}
