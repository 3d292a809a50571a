// Covers: align/patch_correlator
#include "align/find_shift.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <fstream>
#include <opencv2/imgproc.hpp>
#include <string>
#include <vector>

#include "support/run_program.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull;

struct Pair {
  double dx = 0, dy = 0;                // true movement from first to second
  double bound_x = 0, bound_y = 0;      // Cramer-Rao
  double outside_x = 0, outside_y = 0;  // scikit-image
  std::vector<double> first, second;
};

// One file that align/lunar_pairs.py has written.
std::vector<Pair> read_pairs(const std::string& path, int side, int count) {
  std::vector<Pair> pairs;
  std::ifstream file(path, std::ios::binary);
  const auto area = static_cast<std::size_t>(side) * static_cast<std::size_t>(side);
  for (int i = 0; i < count; ++i) {
    std::vector<double> values(6 + 2 * area);
    file.read(reinterpret_cast<char*>(values.data()),
              static_cast<std::streamsize>(values.size() * sizeof(double)));
    REQUIRE(file.good());
    const auto patches = values.begin() + 6;
    const auto middle = patches + static_cast<std::ptrdiff_t>(area);
    pairs.push_back({values[0],
                     values[1],
                     values[2],
                     values[3],
                     values[4],
                     values[5],
                     {patches, middle},
                     {middle, values.end()}});
  }
  return pairs;
}

Plane plane_of(const std::vector<double>& values, int side) {
  Plane plane(side, side);
  for (int y = 0; y < side; ++y) {
    for (int x = 0; x < side; ++x) {
      plane.row(y)[x] = static_cast<float>(
          values[static_cast<std::size_t>(std::ptrdiff_t{y} * side + x)] / 255.0);
    }
  }
  return plane;
}

// Root mean square over both axes and all pairs, and the mean error of each axis.
struct Errors {
  double squares = 0, sum_x = 0, sum_y = 0;
  int count = 0;

  void add(double ex, double ey) {
    squares += ex * ex + ey * ey;
    sum_x += ex;
    sum_y += ey;
    ++count;
  }

  [[nodiscard]] double rms() const { return std::sqrt(squares / (2.0 * count)); }

  [[nodiscard]] double bias() const { return std::max(std::abs(sum_x), std::abs(sum_y)) / count; }
};

enum class PeakFit { parabola, gaussian };

// Place of a peak between three samples, the highest in the middle.
double peak_between(double before, double at, double after, PeakFit fit) {
  if (fit == PeakFit::gaussian) {  // of the logarithms; correlation may not be positive there
    before = std::log(std::max(before, 1e-6));
    at = std::log(std::max(at, 1e-6));
    after = std::log(std::max(after, 1e-6));
  }
  return 0.5 * (before - after) / (before - 2 * at + after);
}

// Movement by normalised cross-correlation (OpenCV) of the inner part of the first patch.
cv::Point2d by_correlation(const cv::Mat& first, const cv::Mat& second, PeakFit fit) {
  constexpr int kReach = 6;
  cv::Mat a;
  cv::Mat b;
  first.convertTo(a, CV_32F);
  second.convertTo(b, CV_32F);
  const cv::Mat inner = a(cv::Rect(kReach, kReach, a.cols - 2 * kReach, a.rows - 2 * kReach));
  cv::Mat likeness;
  cv::matchTemplate(b, inner, likeness, cv::TM_CCOEFF_NORMED);
  cv::Point peak;
  cv::minMaxLoc(likeness(cv::Rect(1, 1, 2 * kReach - 1, 2 * kReach - 1)), nullptr, nullptr, nullptr,
                &peak);
  peak += cv::Point(1, 1);
  const auto at = [&](int dx, int dy) {
    return static_cast<double>(likeness.at<float>(peak.y + dy, peak.x + dx));
  };
  return {peak.x - kReach + peak_between(at(-1, 0), at(0, 0), at(1, 0), fit),
          peak.y - kReach + peak_between(at(0, -1), at(0, 0), at(0, 1), fit)};
}

}  // namespace

TEST_SUITE("align/find_shift") {
  TEST_CASE(
      "is within 1.5 times the Cramer-Rao bound on lunar patches, ahead of general libraries") {
    // Bound: Robinson & Milanfar 2004, IEEE Trans. Image Processing 13, 1185, both patches noisy.
    // Compared with cv::phaseCorrelate (Hanning window), skimage phase_cross_correlation (1/100 px)
    // and cv::matchTemplate (normalised cross-correlation) on the same arrays.
    // The lunar photograph that comes with scikit-image.
    constexpr int kPairs = 100;
    const test::TemporaryFolder folder;
    test::reference_of("align/lunar_pairs.py", {folder.file("pairs"), std::to_string(kPairs),
                                                "20260101", "64,128", "0.5,2,6"});
    for (const int side : {64, 128}) {
      for (const std::string sigma : {"0.5", "2", "6"}) {
        CAPTURE(side);
        CAPTURE(sigma);
        const auto pairs =
            read_pairs(folder.file("pairs-" + std::to_string(side) + "-" + sigma), side, kPairs);
        Errors ours, opencv, skimage, parabola, gaussian, bound;
        align::FindShiftWorkspace work;
        int rejected = 0;
        for (const Pair& pair : pairs) {
          const Plane first = plane_of(pair.first, side);
          const Plane second = plane_of(pair.second, side);
          const auto found = align::find_shift(first.view(), second.view(), {}, work);
          if (!found.ok()) {
            ++rejected;
            continue;
          }
          // shift = reference minus frame: the opposite of the movement.
          ours.add(found.value().x_px + pair.dx, found.value().y_px + pair.dy);
          bound.add(pair.bound_x, pair.bound_y);
          skimage.add(pair.outside_x - pair.dx, pair.outside_y - pair.dy);
          cv::Mat a(side, side, CV_64F);
          cv::Mat b(side, side, CV_64F);
          std::copy(pair.first.begin(), pair.first.end(), a.ptr<double>());
          std::copy(pair.second.begin(), pair.second.end(), b.ptr<double>());
          for (const PeakFit fit : {PeakFit::parabola, PeakFit::gaussian}) {
            const cv::Point2d by = by_correlation(a, b, fit);
            (fit == PeakFit::parabola ? parabola : gaussian).add(by.x - pair.dx, by.y - pair.dy);
          }
          cv::Mat window;  // phaseCorrelate() leaves it on a and b
          cv::createHanningWindow(window, a.size(), CV_64F);
          const cv::Point2d moved = cv::phaseCorrelate(a, b, window);
          opencv.add(moved.x - pair.dx, moved.y - pair.dy);
        }
        MESSAGE("side " << side << " sigma " << sigma << ": rms/bound " << ours.rms() / bound.rms()
                        << " bias " << ours.bias() << " bound " << bound.rms() << " opencv "
                        << opencv.rms() / bound.rms() << " skimage " << skimage.rms() / bound.rms()
                        << " ncc parabola " << parabola.rms() / bound.rms() << " gaussian "
                        << gaussian.rms() / bound.rms() << " rejected " << rejected);
        CHECK(rejected <= kPairs / 5);
        CHECK(ours.rms() <= 1.5 * bound.rms());
        CHECK(ours.rms() < opencv.rms());
        CHECK(ours.rms() < skimage.rms());
        CHECK(ours.rms() < parabola.rms());
        CHECK(ours.rms() < gaussian.rms());
        // A mean over so few pairs is itself uncertain by rms / sqrt(n).
        CHECK(ours.bias() < 0.01 + 3 * ours.rms() / std::sqrt(ours.count));
      }
    }
  }
}
