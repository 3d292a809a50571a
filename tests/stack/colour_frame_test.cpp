#include "stack/colour_frame.h"

#include <doctest/doctest.h>

#include <array>
#include <cstdint>
#include <vector>

using namespace lull;

namespace {

using Samples = std::vector<std::uint8_t>;

// A YUV frame of 8 bits in video range, from its three planes.
struct Yuv {
  capture::CaptureInfo info;
  std::array<Samples, 3> samples;

  Yuv(Size size, int columns, int rows) {
    info.size = size;
    info.colour = capture::Colour::yuv;
    info.scale = {16, 1.0 / 219};  // ITU-R BT.601-7, table 3
    info.chroma.columns = columns;
    info.chroma.rows = rows;
    info.chroma.scale = {128, 1.0 / 224};
    samples[0].resize(static_cast<std::size_t>(size.area_px()));
    for (std::size_t i = 1; i < 3; ++i) {
      samples[i].resize(static_cast<std::size_t>(info.chroma.size_beside(size).area_px()), 128);
    }
  }

  [[nodiscard]] capture::Frame frame() const {
    const auto view = [](const Samples& from, Size size) {
      return SampleView{reinterpret_cast<const std::byte*>(from.data()), size.width_px,
                        size.height_px, size.width_px, SampleType::u8};
    };
    capture::Frame out;
    out.planes[0] = view(samples[0], info.size);
    for (std::size_t i = 0; i < 2; ++i)
      out.chroma[i] = view(samples[i + 1], info.chroma.size_beside(info.size));
    return out;
  }
};

}  // namespace

TEST_SUITE("stack/colour_frame") {
  TEST_CASE("colour bars of 75% come out as red, green and blue") {
    // ITU-R BT.801, colour bars 100/0/75/0 in the coding of BT.601, from memory.
    struct Bar {
      std::array<std::uint8_t, 3> yuv;
      std::array<double, 3> rgb;
    };

    const std::vector<Bar> bars = {
        {{235, 128, 128}, {1, 1, 1}},      {{162, 44, 142}, {0.75, 0.75, 0}},
        {{131, 156, 44}, {0, 0.75, 0.75}}, {{112, 72, 58}, {0, 0.75, 0}},
        {{84, 184, 198}, {0.75, 0, 0.75}}, {{65, 100, 212}, {0.75, 0, 0}},
        {{35, 212, 114}, {0, 0, 0.75}},    {{16, 128, 128}, {0, 0, 0}},
    };
    Yuv yuv({static_cast<int>(bars.size()), 1}, 1, 1);
    for (std::size_t i = 0; i < bars.size(); ++i) {
      for (std::size_t p = 0; p < 3; ++p) yuv.samples[p][i] = bars[i].yuv[p];
    }
    stack::ColourFrame colours;
    colours.assign(yuv.frame(), yuv.info);
    for (std::size_t i = 0; i < bars.size(); ++i) {
      for (int c = 0; c < 3; ++c) {
        CAPTURE(i);
        CAPTURE(c);
        // Half a code of each of the three, as far as the matrix spreads it.
        const auto value = static_cast<double>(colours.plane(c).origin()[i]);
        CHECK(std::abs(value - bars[i].rgb[static_cast<std::size_t>(c)]) < 0.007);
      }
    }
  }

  TEST_CASE("subsampled colour is interpolated from where it was sampled, wherever that is") {
    for (const double first : {0.0, 0.5, 1.0}) {
      CAPTURE(first);
      Yuv yuv({20, 18}, 2, 2);
      yuv.info.chroma.first_x_px = first;
      yuv.info.chroma.first_y_px = 0.5;
      std::fill(yuv.samples[0].begin(), yuv.samples[0].end(), std::uint8_t{125});
      for (int j = 0; j < 9; ++j) {
        for (int i = 0; i < 10; ++i) {  // rises by 2 a luma column and by 1 a luma row
          yuv.samples[2][static_cast<std::size_t>(std::ptrdiff_t{j} * 10 + i)] =
              static_cast<std::uint8_t>(100 + 4 * i + 2 * j);
        }
      }
      stack::ColourFrame colours;
      colours.assign(yuv.frame(), yuv.info);
      const auto red = colours.plane(0).view();
      for (int y = 1; y < 17; ++y) {
        for (int x = 1; x < 18; ++x) {
          const double difference = (100 + 2 * (x - first) + (y - 0.5) - 128) / 224;
          const double expected = (125 - 16) / 219.0 + 2 * (1 - 0.299) * difference;
          CHECK(static_cast<double>(red.row(y)[x]) == doctest::Approx(expected).epsilon(1e-5));
        }
      }
    }
  }
}
