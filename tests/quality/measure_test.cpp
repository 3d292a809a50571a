// Covers: quality/row_kernels, quality/cell_grid, core/dispatch, core/cpu
#include "quality/measure.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <opencv2/imgproc.hpp>
#include <random>
#include <vector>

#include "core/statistics.h"
#include "quality/noise.h"
#include "quality/row_kernels.h"

namespace {

using namespace lull;
using quality::Metric;

template <class T>
struct Image {
  int width, height;
  std::vector<T> samples;

  [[nodiscard]] SampleView view() const {
    return {reinterpret_cast<const std::byte*>(samples.data()), width, height,
            static_cast<std::ptrdiff_t>(sizeof(T)) * width,
            sizeof(T) == 1 ? SampleType::u8 : SampleType::u16};
  }

  [[nodiscard]] quality::Luminance luminance() const { return {view(), {0, 1}, 1e9}; }
};

template <class T>
Image<T> noise_image(int width, int height, double mean, double sigma, unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> value(mean, sigma);
  Image<T> image{width, height, {}};
  for (int i = 0; i < width * height; ++i) {
    image.samples.push_back(static_cast<T>(std::lround(value(random))));
  }
  return image;
}

// Without the border cells: stencils leave out the samples that they cannot reach there.
double inner_mean(const quality::CellGrid& grid) {
  double sum = 0;
  for (int r = 1; r < grid.rows() - 1; ++r) {
    sum += std::accumulate(grid.row(r) + 1, grid.row(r) + grid.columns() - 1, 0.0);
  }
  return sum / ((grid.rows() - 2) * (grid.columns() - 2));
}

// The 6 x 6 array of the check values of a handbook exercise on focus measures.
constexpr std::array<std::array<std::uint8_t, 6>, 6> kArray = {{{10, 10, 10, 10, 10, 10},
                                                                {10, 20, 35, 40, 55, 10},
                                                                {10, 30, 95, 80, 60, 12},
                                                                {10, 40, 80, 70, 20, 10},
                                                                {10, 45, 60, 25, 30, 15},
                                                                {10, 10, 10, 10, 10, 10}}};

template <class Kernel>
double interior_sum(Kernel* kernel) {
  std::vector<std::uint32_t> sum(6);
  for (std::size_t y = 1; y < 5; ++y) {
    kernel(kArray[y - 1].data(), kArray[y].data(), kArray[y + 1].data(), 6, sum.data());
  }
  return std::accumulate(sum.begin(), sum.end(), 0.0);
}

}  // namespace

TEST_SUITE("quality/measure") {
  // By hand: a cell has 4 x 4 squares of 4 x 4 px; it is saturated where one of these is at full
  // scale everywhere.
  TEST_CASE("cells with a square at full scale are saturated, no others") {
    Image<std::uint8_t> image{64, 48, std::vector<std::uint8_t>(std::size_t{64} * 48, 200)};
    const auto fill = [&image](int x0, int y0, std::uint8_t level) {
      for (int y = y0; y < y0 + 4; ++y)
        for (int x = x0; x < x0 + 4; ++x)
          image.samples[static_cast<std::size_t>(std::ptrdiff_t{y} * 64 + x)] = level;
    };
    fill(20, 4, 255);   // the second cell of the first row
    fill(40, 36, 254);  // nearly
    fill(2, 18, 255);   // across the squares of a cell: none is full
    quality::MeasureWorkspace work;
    for (const Metric metric : {Metric::fine, Metric::coarse, Metric::gradient}) {
      const auto cells = quality::measure({image.view(), {0, 1}, 255}, metric, work);
      REQUIRE(cells.saturated.size() == 12);
      for (std::size_t i = 0; i < 12; ++i) {
        CAPTURE(i);
        CHECK(cells.saturated[i] == (i == 1));
      }
    }
  }

  // By hand: [1 2 1] / 16 x [1 2 1] has the sum of squares 0.375^2 and, 2 px apart along a row, the
  // product 0.0625 x 0.375. A difference over 2 px keeps twice their difference, on either axis.
  TEST_CASE("white noise adds 4 to a gradient, and 0.46875 after the smoothing of a mosaic") {
    CHECK(quality::noise_gain(Metric::gradient, capture::Colour::mono) == doctest::Approx(4));
    CHECK(quality::noise_gain(Metric::gradient, capture::Colour::cfa) == doctest::Approx(0.46875));
    CHECK(quality::noise_gain(Metric::laplacian, capture::Colour::mono) == doctest::Approx(20));
  }

  TEST_CASE("row kernels give OpenCV's Laplacian and the sum-modified Laplacian by hand") {
    // OpenCV 4.6, cv::Laplacian ksize 1 on the same array; sum-modified Laplacian (Nayar &
    // Nakagawa 1994) of the interior: 993, computed with OpenCV's filter2D in doubles.
    cv::Mat image(6, 6, CV_8U);
    for (int y = 0; y < 6; ++y) {
      for (int x = 0; x < 6; ++x) {
        image.at<std::uint8_t>(y, x) =
            kArray[static_cast<std::size_t>(y)][static_cast<std::size_t>(x)];
      }
    }
    cv::Mat laplacian;
    cv::Laplacian(image, laplacian, CV_64F, 1);
    const cv::Mat inner = laplacian(cv::Rect(1, 1, 4, 4));
    CHECK(interior_sum(quality::kernels::laplacian_u8()) == doctest::Approx(inner.dot(inner)));
    CHECK(interior_sum(quality::kernels::modified_laplacian_u8()) == 993);
  }

  TEST_CASE("the gradient kernel is the sum of squared central differences of OpenCV") {
    cv::Mat image(6, 6, CV_8U);
    for (int y = 0; y < 6; ++y) {
      for (int x = 0; x < 6; ++x) {
        image.at<std::uint8_t>(y, x) =
            kArray[static_cast<std::size_t>(y)][static_cast<std::size_t>(x)];
      }
    }
    cv::Mat dx;
    cv::Mat dy;
    cv::Sobel(image, dx, CV_64F, 1, 0, 1);
    cv::Sobel(image, dy, CV_64F, 0, 1, 1);
    const cv::Rect inner(1, 1, 4, 4);
    const double expected = dx(inner).dot(dx(inner)) + dy(inner).dot(dy(inner));
    CHECK(interior_sum(quality::kernels::gradient_u8()) == doctest::Approx(expected));
  }

  TEST_CASE("white noise adds to each energy the gain of the stencil") {
    // 20 sigma^2 for the 4-neighbour Laplacian and 3.90882 sigma for the sum-modified one: sums
    // of squared coefficients; mean of |N(0, s)| = s sqrt(2/pi).
    CHECK(quality::noise_gain(Metric::laplacian, capture::Colour::mono) == doctest::Approx(20.0));
    CHECK(quality::noise_gain(Metric::gradient, capture::Colour::mono) == doctest::Approx(4.0));
    CHECK(std::sqrt(quality::noise_gain(Metric::modified_laplacian, capture::Colour::mono)) ==
          doctest::Approx(3.90882).epsilon(1e-5));
    const auto image = noise_image<std::uint16_t>(640, 480, 20000, 300, 7);
    quality::MeasureWorkspace work;
    for (const Metric metric : quality::kMetrics) {
      CAPTURE(quality::metric_name(metric));
      const auto cells = quality::measure(image.luminance(), metric, work);
      const double expected = quality::noise_gain(metric, capture::Colour::mono) * 300.0 * 300.0;
      // The coarse measure has the fewest samples, 19,200 of them correlated: 5% is 3 sigma.
      CHECK(inner_mean(cells.energy) == doctest::Approx(expected).epsilon(0.05));
    }
  }

  TEST_CASE("8-bit and 16-bit paths agree, at every instruction set, on odd sizes") {
    for (const Size size : {Size{640, 480}, Size{333, 97}, Size{16, 16}, Size{35, 70}}) {
      const int width = size.width_px;
      const int height = size.height_px;
      const auto bytes = noise_image<std::uint8_t>(width, height, 120, 20, 11);
      Image<std::uint16_t> words{width, height, {bytes.samples.begin(), bytes.samples.end()}};
      quality::MeasureWorkspace work;
      for (const Metric metric : quality::kMetrics) {
        CAPTURE(quality::metric_name(metric));
        CAPTURE(width);
        const CpuLevel best = cpu_level();
        set_cpu_level(CpuLevel::baseline);
        const auto expected = quality::measure(bytes.luminance(), metric, work).energy;
        const auto expected_words = quality::measure(words.luminance(), metric, work).energy;
        for (std::size_t i = 0; i < expected.count(); ++i) {
          // Floats of 24 bits against exact integers.
          CHECK(expected_words.values()[i] ==
                doctest::Approx(static_cast<double>(expected.values()[i])).epsilon(1e-4));
        }
        for (const CpuLevel level : {CpuLevel::avx2, CpuLevel::avx512}) {
          set_cpu_level(level);
          CHECK(quality::measure(bytes.luminance(), metric, work).energy.values() ==
                expected.values());
          CHECK(quality::measure(words.luminance(), metric, work).energy.values() ==
                expected_words.values());
          set_cpu_level(best);
        }
      }
    }
  }

  TEST_CASE("the fine measure is the Laplacian at step 2 of 4 x 4 means, as OpenCV filters") {
    const auto bytes = noise_image<std::uint8_t>(64, 64, 120, 20, 3);
    cv::Mat image(64, 64, CV_8U,
                  const_cast<std::uint8_t*>(bytes.samples.data()));  // NOLINT: cv has no const view
    cv::Mat means;
    cv::boxFilter(image, means, CV_64F, cv::Size(4, 4), cv::Point(0, 0));
    quality::MeasureWorkspace work;
    const auto cells = quality::measure(bytes.luminance(), Metric::fine, work);
    // Cell (1, 1): boxes that start at even pixels 16 to 30.
    double sum = 0;
    for (int y = 16; y < 32; y += 2) {
      for (int x = 16; x < 32; x += 2) {
        const double value = 4 * means.at<double>(y, x) - means.at<double>(y, x - 2) -
                             means.at<double>(y, x + 2) - means.at<double>(y - 2, x) -
                             means.at<double>(y + 2, x);
        sum += value * value;
      }
    }
    CHECK(cells.energy.row(1)[1] == doctest::Approx(sum / 64).epsilon(1e-5));
    CHECK(cells.mean.row(1)[1] ==
          doctest::Approx(cv::mean(image(cv::Rect(16, 16, 16, 16)))[0]).epsilon(1e-6));
  }
}

TEST_SUITE("quality/noise") {
  TEST_CASE("finds the standard deviation of white noise to 6%, edges or not") {
    for (const double sigma : {2.0, 8.0}) {
      auto image = noise_image<std::uint8_t>(640, 480, 100, sigma, 5);
      std::vector<float> scratch;
      // About 4,800 samples, some of them correlated: 6% is 3 sigma.
      CHECK(quality::noise_sigma(image.view(), 1, 0, scratch) ==
            doctest::Approx(sigma).epsilon(0.06));
      for (int y = 0; y < 480; ++y) {
        for (int x = 320; x < 640; ++x)
          image.samples[static_cast<std::size_t>(std::ptrdiff_t{y} * 640 + x)] += 60;
      }
      CHECK(quality::noise_sigma(image.view(), 1, 0, scratch) ==
            doctest::Approx(sigma).epsilon(0.06));
      CHECK(quality::noise_sigma(image.view(), 2, 0, scratch) ==
            doctest::Approx(sigma).epsilon(0.06));
    }
  }

  TEST_CASE("16-bit frames: the median of the sampled responses as sorting finds it") {
    for (const double sigma : {20.0, 4000.0}) {
      const auto image = noise_image<std::uint16_t>(640, 480, 30000, sigma, 6);
      const auto at = [&](int x, int y) {
        return int{image.samples[static_cast<std::size_t>(std::ptrdiff_t{y} * 640 + x)]};
      };
      const auto column = [&](int x, int y) { return at(x, y - 1) - 2 * at(x, y) + at(x, y + 1); };
      std::vector<int> responses;
      for (int y = 1; y + 1 < 480; y += 16) {
        for (int x = 1; x + 1 < 640; x += 4)
          responses.push_back(std::abs(column(x - 1, y) - 2 * column(x, y) + column(x + 1, y)));
      }
      std::sort(responses.begin(), responses.end());
      std::vector<float> scratch;
      CHECK(quality::noise_sigma(image.view(), 1, 0, scratch) ==
            doctest::Approx(lull::kMadToSigma * responses[responses.size() / 2] / 6).epsilon(1e-9));
    }
  }

  TEST_CASE("no result where nothing is bright enough") {
    const auto image = noise_image<std::uint8_t>(64, 64, 20, 2, 5);
    std::vector<float> scratch;
    CHECK(quality::noise_sigma(image.view(), 1, 200, scratch) == 0);
  }
}
