#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <random>

#include "stack/accumulator.h"
#include "stack/colour_frame.h"
#include "stack/enlargement.h"
#include "stack/picture_set.h"

// Against its plain version: accumulator_test.cpp.

using namespace lull;

TEST_SUITE("stack/drop_sampler") {
  namespace {

  constexpr Size kSize{64, 56};
  constexpr int kClear = 2;  // frame pixels from the edge at which frames no longer fade

  struct Frame {
    align::PaddedFrame samples;
    align::ShiftField field;
    std::vector<float> weights;
  };

  template <class Light>
  std::unique_ptr<Frame> frame(Size size, FrameOffset offset, const Light& light) {
    Plane plane(size);
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) plane.row(y)[x] = static_cast<float>(light(x, y));
    }
    auto out = std::make_unique<Frame>();
    out->samples.assign(std::as_const(plane).view());
    out->field = align::ShiftField(size, offset);
    out->weights.assign(out->field.local_x.size(), 1.0F);
    return out;
  }

  stack::Contribution part_of(const Frame& frame) {
    stack::Contribution part;
    part.channels[0].plane = &frame.samples;
    part.field = &frame.field;
    part.weights = &frame.weights;
    return part;
  }

  stack::Accumulator drops(Size size, int channels, stack::Enlargement how) {
    return {stack::drop_sampler(stack::PictureGrid(size, how.scale), how.pixfrac), channels};
  }

  FrameOffset random_offset(std::mt19937& random) {
    std::uniform_real_distribution<double> place(-1, 1);
    return {place(random), place(random)};
  }

  double sinc(double x) {
    return x == 0 ? 1 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
  }

  }  // namespace

  // The table that follows from eqs. 9 and 10 of Fruchter & Hook 2002 (equations from memory).
  TEST_CASE("noise correlation is that of the paper") {
    const auto ratio = [](double pixfrac, double s) {
      return stack::Enlargement{1 / s, pixfrac}.noise_correlation();
    };
    CHECK(ratio(1, 1) == doctest::Approx(1.5));
    CHECK(ratio(0.6, 0.5) == doctest::Approx(1.66154).epsilon(1e-5));
    CHECK(ratio(0.8, 0.5) == doctest::Approx(2.02105).epsilon(1e-5));
    CHECK(ratio(0.5, 1) == doctest::Approx(1.2));
    CHECK(ratio(1, 0.5) == doctest::Approx(2.4));
  }

  // White noise: deviation of means over blocks, over that of independent pixels. Blocks of 32 px
  // hold 1.5% less than endless ones; 800 blocks are uncertain by 2.5%.
  TEST_CASE("noise of a white capture is correlated as in the paper") {
    constexpr Size kLarge{224, 224};
    constexpr int kBlock = 32;
    for (const stack::Enlargement how :
         {stack::Enlargement{2, 0.7}, {2, 1}, {2, 0.3}, {1.5, 0.7}}) {
      CAPTURE(how.scale);
      CAPTURE(how.pixfrac);
      double pixels = 0;
      double squares = 0;
      double blocks = 0;
      double block_squares = 0;
      for (unsigned seed = 1; seed <= 6; ++seed) {
        std::mt19937 random(seed);
        std::normal_distribution<double> noise(0, 1);
        stack::Accumulator sums = drops(kLarge, 1, how);
        for (int k = 0; k < 40; ++k) {
          const auto one =
              frame(kLarge, random_offset(random), [&](int, int) { return noise(random); });
          sums.add(std::vector{part_of(*one)});
        }
        const Plane mean = sums.mean();
        const int clear = static_cast<int>(2 * kClear * how.scale);
        for (int y = clear; y + kBlock <= mean.height() - clear; y += kBlock) {
          for (int x = clear; x + kBlock <= mean.width() - clear; x += kBlock) {
            double sum = 0;
            for (int v = y; v < y + kBlock; ++v) {
              for (int u = x; u < x + kBlock; ++u) {
                const double value = static_cast<double>(mean.row(v)[u]);
                sum += value;
                squares += value * value;
                ++pixels;
              }
            }
            block_squares += sum * sum;
            ++blocks;
          }
        }
      }
      const double measured =
          std::sqrt(block_squares / blocks / (kBlock * kBlock) / (squares / pixels));
      CHECK(measured == doctest::Approx(how.noise_correlation()).epsilon(0.08));
    }
  }

  // The drop and the pixel are squares, so the picture is the scene convolved with both.
  TEST_CASE("restores a wave finer than the frames can show, muted by drop and pixel alone") {
    constexpr double kFrequency = 0.7;  // cycles a frame pixel: seen in one frame as 0.3
    const stack::Enlargement how{2, 0.5};
    std::mt19937 random(3);
    stack::Accumulator sums = drops(kSize, 1, how);
    for (int k = 0; k < 400; ++k) {
      const FrameOffset offset = random_offset(random);
      const auto one = frame(kSize, offset, [&](int x, int) {
        return std::cos(2 * std::numbers::pi * kFrequency * (x - offset.x_px));
      });
      sums.add(std::vector{part_of(*one)});
    }
    const Plane mean = sums.mean();
    double sum = 0;
    double count = 0;
    for (int y = 32; y < mean.height() - 32; ++y) {
      for (int x = 34; x < 34 + 60; ++x) {  // 21 waves
        const double place = (x + 0.5) / how.scale - 0.5;
        sum += 2 * static_cast<double>(mean.row(y)[x]) *
               std::cos(2 * std::numbers::pi * kFrequency * place);
        ++count;
      }
    }
    const double expected = sinc(kFrequency * how.pixfrac) * sinc(kFrequency / how.scale);
    CHECK(sum / count == doctest::Approx(expected).epsilon(0.04));
  }

  TEST_CASE("where no drop fell it shows the classic stack, and the weight is 0") {
    stack::Accumulator sums = drops(kSize, 1, {3, 0.2});
    const auto one = frame(kSize, {0.1, 0.2}, [](int, int) { return 1.0; });
    sums.add(std::vector{part_of(*one)});
    const auto dark = frame(kSize, {0.1, 0.2}, [](int, int) { return 0.25; });
    stack::Accumulator classic(stack::warp_sampler(kSize), 1);
    classic.add(std::vector{part_of(*dark)});
    const stack::PictureSet set = stack::means(sums, 0, classic);
    const Plane& mean = set.whole;
    const Plane weight = sums.weight(0);
    int holes = 0;
    int all = 0;
    for (int y = 12; y < mean.height() - 12; ++y) {  // interpolation sees no edge there
      for (int x = 12; x < mean.width() - 12; ++x) {
        const bool hole = weight.row(y)[x] == 0;
        holes += hole ? 1 : 0;
        ++all;
        REQUIRE(mean.row(y)[x] == doctest::Approx(hole ? 0.25 : 1.0).epsilon(1e-5));
      }
    }
    // A drop of 0.6 fine pixels reaches at most two of three columns and rows.
    CHECK(holes >= all * 5 / 9);
  }

  TEST_CASE("samples of a mosaic fall into their own colour alone") {
    auto samples = std::make_shared<std::vector<std::uint8_t>>();
    constexpr std::uint8_t kLevels[3] = {40, 120, 220};
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        samples->push_back(kLevels[capture::cfa_colour_at(capture::Cfa::gbrg, x, y)]);
    }
    capture::Frame raw;
    raw.planes[0] = {reinterpret_cast<const std::byte*>(samples->data()), kSize.width_px,
                     kSize.height_px, kSize.width_px, SampleType::u8};
    raw.storage = samples;
    capture::CaptureInfo info;
    info.size = kSize;
    info.colour = capture::Colour::cfa;
    info.cfa = capture::Cfa::gbrg;
    info.scale = {0, 1.0 / 255};
    stack::ColourFrame colours;
    colours.assign(raw, info);
    stack::Accumulator sums = drops(kSize, 3, {2, 0.7});
    sums.set_offsets({Displacement{0.3, -0.2}, Displacement{}, Displacement{-0.4, 0.1}});
    std::mt19937 random(5);
    for (int k = 0; k < 30; ++k) {
      const align::ShiftField field(kSize, random_offset(random));
      const std::vector<float> weights(field.local_x.size(), 1.0F);
      stack::Contribution part;
      for (int c = 0; c < 3; ++c) part.channels[static_cast<std::size_t>(c)] = colours.samples(c);
      part.field = &field;
      part.weights = &weights;
      sums.add(std::vector{part});
    }
    for (int c = 0; c < 3; ++c) {
      const Plane mean = sums.mean(c);
      const Plane weight = sums.weight(c);
      double sum = 0;
      for (int y = 30; y < 80; ++y) {
        for (int x = 30; x < 90; ++x) {
          REQUIRE(mean.row(y)[x] == doctest::Approx(kLevels[c] / 255.0).epsilon(1e-4));
          sum += static_cast<double>(weight.row(y)[x]);
        }
      }
      // A frame of weight 1 adds pixfrac^2 a sample: half of the samples are green.
      CHECK(sum / (50 * 60) == doctest::Approx(30 * 0.49 * (c == 1 ? 0.5 : 0.25)).epsilon(0.05));
    }
  }
}
