#include <fmt/format.h>

#include <chrono>
#include <cmath>
#include <numeric>
#include <opencv2/imgproc.hpp>
#include <random>
#include <stdexcept>

#include "bench.h"
#include "core/cpu.h"
#include "quality/measure.h"

namespace lull::bench {

namespace {

using Clock = std::chrono::steady_clock;

template <class Body>
Timing time_of(const Settings& settings, const Body& body) {
  const int rounds = settings.smoke ? 3 : 41;
  const int repeats = settings.smoke ? 1 : 50;
  std::vector<double> seconds;
  for (int r = 0; r < rounds; ++r) {
    const auto start = Clock::now();
    for (int i = 0; i < repeats; ++i) body();
    seconds.push_back(std::chrono::duration<double>(Clock::now() - start).count() / repeats);
  }
  return timing(std::move(seconds));
}

template <class T>
std::vector<T> picture(double scale) {
  std::mt19937 random(7);
  std::normal_distribution<double> noise(0, 4);
  std::vector<T> out;
  for (int y = 0; y < 480; ++y) {
    for (int x = 0; x < 640; ++x) {
      const double scene = 120 + 50 * std::sin(x / 9.0) * std::cos(y / 7.0) + noise(random);
      out.push_back(static_cast<T>(scale * std::min(std::max(scene, 0.0), 255.0)));
    }
  }
  return out;
}

template <class T>
quality::Luminance light(const std::vector<T>& samples) {
  return {{reinterpret_cast<const std::byte*>(samples.data()), 640, 480,
           static_cast<std::ptrdiff_t>(640 * sizeof(T)),
           sizeof(T) == 1 ? SampleType::u8 : SampleType::u16},
          {0, 1},
          1e9};
}

// The Laplacian energy of whole cells must be OpenCV's before anything is timed.
void check_answer(const std::vector<std::uint8_t>& samples, const cv::Mat& image) {
  quality::MeasureWorkspace work;
  const auto cells = quality::measure(light(samples), quality::Metric::laplacian, work);
  cv::Mat laplacian;
  cv::Laplacian(image, laplacian, CV_64F, 1);
  const cv::Mat cell = laplacian(cv::Rect(16, 16, 16, 16));
  const double expected = cell.dot(cell) / 256;
  const double found = static_cast<double>(cells.energy.row(1)[1]);
  if (std::abs(found - expected) > 1e-5 * expected) {
    throw std::runtime_error(fmt::format("wrong answer: {} instead of {}", found, expected));
  }
}

}  // namespace

void run_kernels(const Settings& settings) {
  cv::setNumThreads(1);
  auto bytes = picture<std::uint8_t>(1);
  auto words = picture<std::uint16_t>(200);
  const cv::Mat image(480, 640, CV_8U, bytes.data());
  check_answer(bytes, image);
  cv::Mat laplacian;
  cv::Scalar mean;
  cv::Scalar deviation;
  const Timing opencv = time_of(settings, [&] {
    cv::Laplacian(image, laplacian, CV_16S);
    cv::meanStdDev(laplacian, mean, deviation);
  });
  fmt::print("Sharpness kernels, 640 x 480, one thread, {}\n", cpu_level_name(cpu_level()));
  fmt::print("  cv::Laplacian(CV_16S) + cv::meanStdDev, 8 bit: {:.1f} us (spread {:.0f}%)\n",
             1e6 * opencv.median_s, 100 * opencv.spread);
  quality::MeasureWorkspace work;
  double sink = 0;
  for (const quality::Metric metric : quality::kMetrics) {
    const auto measured = [&](const quality::Luminance& from) {
      return time_of(settings, [&] {
        sink += static_cast<double>(quality::measure(from, metric, work).energy.values()[0]);
      });
    };
    const Timing narrow = measured(light(bytes));
    const Timing wide = measured(light(words));
    fmt::print(
        "  {:<20} 8 bit {:5.1f} times faster than OpenCV ({:.1f} us), 16 bit {:5.1f} times\n",
        quality::metric_name(metric), opencv.median_s / narrow.median_s, 1e6 * narrow.median_s,
        opencv.median_s / wide.median_s);
  }
  if (!std::isfinite(sink)) throw std::runtime_error("a measure is not finite");
}

}  // namespace lull::bench
