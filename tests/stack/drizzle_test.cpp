#include "stack/drizzle.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <numbers>
#include <random>

using namespace lull;

namespace {

constexpr Size kSize{64, 56};
constexpr int kClear = 13;  // frame pixels from the edge at which frames no longer fade

struct Frame {
  align::PaddedFrame samples;
  align::ShiftField field;
  std::vector<float> weights;
};

template <class Light>
std::unique_ptr<Frame> frame(Size size, Shift shift, const Light& light) {
  Plane plane(size);
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) plane.row(y)[x] = static_cast<float>(light(x, y));
  }
  auto out = std::make_unique<Frame>();
  out->samples.assign(std::as_const(plane).view());
  out->field = align::ShiftField(size, shift);
  out->weights.assign(out->field.local_x.size(), 1.0F);
  return out;
}

stack::Contribution part_of(const Frame& frame, int half = 0) {
  stack::Contribution part;
  part.frame = &frame.samples;
  part.field = &frame.field;
  part.weights = &frame.weights;
  part.half = half;
  return part;
}

double overlap(double a0, double a1, double b0, double b1) {
  return std::max(0.0, std::min(a1, b1) - std::max(a0, b0));
}

Shift random_shift(std::mt19937& random) {
  std::uniform_real_distribution<double> place(-1, 1);
  return {place(random), place(random)};
}

double sinc(double x) {
  return x == 0 ? 1 : std::sin(std::numbers::pi * x) / (std::numbers::pi * x);
}

}  // namespace

TEST_SUITE("stack/drizzle") {
  // Fruchter & Hook 2002, eqs. 4 and 5: W' = a w + W, I' = (d a w + I W) / W', a the area of
  // overlap.
  TEST_CASE("gives what dropping each sample onto the pixels it overlaps gives") {
    for (const stack::Enlargement how :
         {stack::Enlargement{2, 0.7}, {1.5, 1}, {3, 0.4}, {2, 0.1}, {3, 1}}) {
      CAPTURE(how.scale);
      CAPTURE(how.pixfrac);
      std::mt19937 random(7);
      std::normal_distribution<double> noise(0.5, 0.1);
      stack::Drizzle drizzle(kSize, 1, how);
      const Size fine = drizzle.grid().size();
      Plane light(fine);
      Plane weight(fine);
      std::vector<std::unique_ptr<Frame>> frames;
      std::vector<stack::Contribution> parts;
      for (int k = 0; k < 5; ++k) {
        frames.push_back(
            frame(kSize, random_shift(random), [&](int, int) { return noise(random); }));
        parts.push_back(part_of(*frames.back(), k % 2));
        const Shift shift = frames.back()->field.whole;
        for (int y = 0; y < kSize.height_px; ++y) {
          for (int x = 0; x < kSize.width_px; ++x) {
            const double cx = (x - shift.x_px + 0.5) * how.scale;  // fine pixel X: from X to X + 1
            const double cy = (y - shift.y_px + 0.5) * how.scale;
            const double h = 0.5 * how.pixfrac * how.scale;
            for (int v = static_cast<int>(cy - h) - 1; v <= cy + h; ++v) {
              for (int u = static_cast<int>(cx - h) - 1; u <= cx + h; ++u) {
                if (u < 0 || v < 0 || u >= fine.width_px || v >= fine.height_px) continue;
                const double a =
                    overlap(u, u + 1, cx - h, cx + h) * overlap(v, v + 1, cy - h, cy + h);
                light.row(v)[u] += static_cast<float>(
                    a * static_cast<double>(frames.back()->samples.view().row(y)[x]));
                weight.row(v)[u] += static_cast<float>(a);
              }
            }
          }
        }
      }
      drizzle.add(parts);
      const Plane none(kSize);
      const Plane mean = drizzle.mean(0, none.view());
      const Plane got = drizzle.weight(0);
      const int clear = static_cast<int>((kClear + 1) * how.scale);
      for (int y = clear; y < fine.height_px - clear; ++y) {
        for (int x = clear; x < fine.width_px - clear; ++x) {
          const double w = static_cast<double>(weight.row(y)[x]);
          REQUIRE(std::abs(static_cast<double>(got.row(y)[x]) - w) < 2e-3 * (1 + w));
          if (w < 0.01) continue;
          const double expected = static_cast<double>(light.row(y)[x]) / w;
          REQUIRE(std::abs(static_cast<double>(mean.row(y)[x]) - expected) < 5e-3);
        }
      }
    }
  }

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
  TEST_CASE("noise of a white capture is correlated as the paper says") {
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
        stack::Drizzle drizzle(kLarge, 1, how);
        for (int k = 0; k < 40; ++k) {
          const auto one =
              frame(kLarge, random_shift(random), [&](int, int) { return noise(random); });
          drizzle.add(std::vector{part_of(*one)});
        }
        const Plane none(kLarge);
        const Plane mean = drizzle.mean(0, none.view());
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
    stack::Drizzle drizzle(kSize, 1, how);
    for (int k = 0; k < 400; ++k) {
      const Shift shift = random_shift(random);
      const auto one = frame(kSize, shift, [&](int x, int) {
        return std::cos(2 * std::numbers::pi * kFrequency * (x - shift.x_px));
      });
      drizzle.add(std::vector{part_of(*one)});
    }
    const Plane none(kSize);
    const Plane mean = drizzle.mean(0, none.view());
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

  TEST_CASE("where no drop fell it shows the classic stack, and says so in the weights") {
    stack::Drizzle drizzle(kSize, 1, {3, 0.2});
    const auto one = frame(kSize, {0.1, 0.2}, [](int, int) { return 1.0; });
    drizzle.add(std::vector{part_of(*one)});
    Plane classic(kSize);
    classic.fill(0.25F);
    const Plane mean = drizzle.mean(0, classic.view());
    const Plane weight = drizzle.weight(0);
    int holes = 0;
    for (int y = 0; y < mean.height(); ++y) {
      for (int x = 0; x < mean.width(); ++x) {
        const bool hole = weight.row(y)[x] == 0;
        holes += hole ? 1 : 0;
        REQUIRE(mean.row(y)[x] == doctest::Approx(hole ? 0.25 : 1.0).epsilon(1e-5));
      }
    }
    // A drop of 0.6 fine pixels reaches at most two of three columns and rows.
    CHECK(holes > mean.size().area_px() / 2);
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
    stack::Drizzle drizzle(kSize, 3, {2, 0.7});
    drizzle.set_offsets({Shift{0.3, -0.2}, Shift{}, Shift{-0.4, 0.1}});
    std::mt19937 random(5);
    for (int k = 0; k < 30; ++k) {
      const align::ShiftField field(kSize, random_shift(random));
      const std::vector<float> weights(field.local_x.size(), 1.0F);
      drizzle.add(std::vector{stack::ColourContribution{&colours, &field, &weights, 1.0, k % 2}});
    }
    const Plane none(kSize);
    for (int c = 0; c < 3; ++c) {
      const Plane mean = drizzle.mean(c, none.view());
      const Plane weight = drizzle.weight(c);
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

TEST_SUITE("stack/fine_grid") {
  TEST_CASE("looks where the shift field does") {
    align::ShiftField field(kSize, {1.5, -2});
    for (std::size_t n = 0; n < field.local_x.size(); ++n) {
      field.local_x[n] = static_cast<float>(std::sin(0.7 * static_cast<double>(n)));
      field.local_y[n] = static_cast<float>(std::cos(1.1 * static_cast<double>(n)));
    }
    for (const double scale : {1.5, 2.0, 3.0}) {
      const stack::FineGrid grid(kSize, scale);
      CHECK(grid.size() == Size{static_cast<int>(64 * scale), static_cast<int>(56 * scale)});
      std::vector<float> x;
      std::vector<float> y;
      for (int row = 0; row < grid.size().height_px; row += 5) {
        grid.coordinates(field, row, x, y);
        for (int column = 0; column < grid.size().width_px; ++column) {
          const double px = (column + 0.5) / scale - 0.5;
          const double py = (row + 0.5) / scale - 0.5;
          const Shift shift = field.at(px, py);
          const auto i = static_cast<std::size_t>(column);
          REQUIRE(std::abs(static_cast<double>(x[i]) - px - shift.x_px) < 1e-4);
          REQUIRE(std::abs(static_cast<double>(y[i]) - py - shift.y_px) < 1e-4);
        }
      }
    }
  }

  TEST_CASE("an area of odd pixels at scale 1.5 loses what it covers only in part") {
    const stack::FineGrid grid({65, 57}, 1.5);
    CHECK(grid.size() == Size{97, 85});
    const Box box = grid.inside({3, 2, 62, 55});
    CHECK((box.x0 == 5 && box.y0 == 3 && box.x1 == 93 && box.y1 == 82));
  }
}
