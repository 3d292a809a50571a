#include "quality/reduce.h"

#include <doctest/doctest.h>

#include <random>

// Against plain sums of whole numbers, which are exact in either type.
TEST_SUITE("quality/reduce") {
  namespace {

  using namespace lull;

  template <class T>
  struct Frame {
    Frame(Size frame, int padding, int most) : size(frame), stride(frame.width_px + padding) {
      std::mt19937 random(11);
      std::uniform_int_distribution<int> value(0, most);
      samples.resize(static_cast<std::size_t>(stride) * static_cast<std::size_t>(size.height_px));
      for (T& sample : samples) sample = static_cast<T>(value(random));
    }

    [[nodiscard]] SampleView view() const {
      return {reinterpret_cast<const std::byte*>(samples.data()), size.width_px, size.height_px,
              static_cast<std::ptrdiff_t>(static_cast<std::size_t>(stride) * sizeof(T)),
              sizeof(T) == 1 ? SampleType::u8 : SampleType::u16};
    }

    /// Sum of the block of that side whose place in the grid of blocks is (bx, by).
    [[nodiscard]] double block(int side, int bx, int by) const {
      double sum = 0;
      for (int y = by * side; y < (by + 1) * side; ++y) {
        for (int x = bx * side; x < (bx + 1) * side; ++x) {
          sum += samples[static_cast<std::size_t>(std::ptrdiff_t{y} * stride + x)];
        }
      }
      return sum;
    }

    Size size;
    int stride;
    std::vector<T> samples;
  };

  template <class T>
  void check_frame(const Frame<T>& frame, quality::HalfPlane& half) {
    quality::halve(frame.view(), half);
    CHECK(half.exact() == (sizeof(T) == 1));
    REQUIRE(half.width_px == frame.size.width_px / 2);
    REQUIRE(half.height_px == frame.size.height_px / 2);
    Plane plane;
    Plane quarter;
    Plane quarter_of_plane;
    quality::to_plane(half, plane);
    quality::quarter(half, quarter);
    quality::halve(plane.view(), quarter_of_plane);
    REQUIRE(plane.size() == Size{half.width_px, half.height_px});
    REQUIRE(quarter.size() == Size{frame.size.width_px / 4, frame.size.height_px / 4});
    REQUIRE(quarter_of_plane.size() == quarter.size());
    int wrong = 0;
    for (int y = 0; y < plane.height(); ++y) {
      for (int x = 0; x < plane.width(); ++x) {
        wrong += static_cast<double>(plane.row(y)[x]) != frame.block(2, x, y);
      }
    }
    for (int y = 0; y < quarter.height(); ++y) {
      for (int x = 0; x < quarter.width(); ++x) {
        wrong += static_cast<double>(quarter.row(y)[x]) != frame.block(4, x, y);
        wrong += quarter.row(y)[x] != quarter_of_plane.row(y)[x];
      }
    }
    CHECK(wrong == 0);
  }

  }  // namespace

  TEST_CASE("blocks of 2 x 2 and 4 x 4 px, odd sizes and padded rows, in memory used before") {
    quality::HalfPlane half;
    for (const Size size :
         {Size{16, 16}, Size{17, 19}, Size{131, 77}, Size{64, 6}, Size{7, 64}, Size{250, 33}}) {
      CAPTURE(size.width_px);
      for (const int padding : {0, 3}) {
        check_frame(Frame<std::uint8_t>(size, padding, 255), half);
        check_frame(Frame<std::uint16_t>(size, padding, 65535), half);
      }
    }
  }
}
