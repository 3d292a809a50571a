// Covers: align/field_level
#include "align/gaussian_blur.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <opencv2/imgproc.hpp>

#include "align/field_estimator.h"
#include "align/field_kernels.h"
#include "align/field_level.h"
#include "support/scene.h"

using namespace lull;

TEST_SUITE("align/gaussian_blur") {
  namespace {

  constexpr Size kSize{93, 61};

  Plane scene() {
    const test::Scene scene(kSize, 11, 1.2, 5.0);
    Plane plane = scene.seen(kSize, [](int, int) { return Displacement{}; });
    test::add_noise(plane.view(), 0.02, 3);
    return plane;
  }

  // OpenCV's Gaussian, cut at 2.7 standard deviations too, with the edge samples repeated.
  cv::Mat by_opencv(Plane& plane, double sigma) {
    const int side = 2 * static_cast<int>(std::ceil(2.7 * sigma)) + 1;
    const cv::Mat in(plane.height(), plane.width(), CV_32F, plane.row(0),
                     static_cast<std::size_t>(plane.view().stride_elems) * sizeof(float));
    cv::Mat out;
    cv::GaussianBlur(in, out, {side, side}, sigma, sigma, cv::BORDER_REPLICATE);
    return out;
  }

  // But for so many samples at the edges.
  double largest_difference(PlaneView a, const cv::Mat& b, int step, int edge = 0) {
    double worst = 0;
    for (int y = edge; y < a.height_px - edge; ++y) {
      for (int x = edge; x < a.width_px - edge; ++x)
        worst = std::max(
            worst, static_cast<double>(std::abs(a.row(y)[x] - b.at<float>(step * y, step * x))));
    }
    return worst;
  }

  }  // namespace

  TEST_CASE("blurs as OpenCV does, and keeps every so many samples") {
    Plane plane = scene();
    for (const double sigma : {0.8, 1.0, 2.3}) {
      for (const int step : {1, 2, 4}) {
        const align::GaussianBlur blur(sigma, step);
        Plane out(blur.kept(kSize));
        CHECK(out.size() ==
              Size{(kSize.width_px + step - 1) / step, (kSize.height_px + step - 1) / step});
        align::GaussianBlur::Workspace work;
        blur.apply(plane.view(), work, out.view());
        CHECK(largest_difference(out.view(), by_opencv(plane, sigma), step) < 2e-6);
      }
    }
  }

  TEST_CASE("levels made from one another are as blurred as those made at once") {
    Plane plane = scene();
    const align::FieldOptions options;
    const align::LevelBlurs blurs(options.levels);
    align::PaddedFrame frame;
    frame.assign(plane.view());
    align::LevelBlurs::Workspace work;
    blurs.apply(frame, 0, work);
    for (std::size_t i = 0; i < options.levels.size(); ++i) {
      CAPTURE(i);
      const align::FieldLevel& level = options.levels[i];
      const int edge = static_cast<int>(std::ceil(2.7 * level.blur_px)) / level.reduction;
      // The cut tails of three Gaussians are not those of one.
      CHECK(largest_difference(work.frames[i].view(), by_opencv(plane, level.blur_px),
                               level.reduction, edge) < 0.004);
    }
  }

  TEST_CASE("every second, third and fourth value, also in place") {
    for (const int count : {1, 7, 8, 9, 40, 61}) {
      for (const int step : {2, 3, 4}) {
        std::vector<float> in(static_cast<std::size_t>(count * step));
        for (std::size_t i = 0; i < in.size(); ++i) in[i] = static_cast<float>(i);
        align::kernels::every()(in.data(), step, 0.5F, count, in.data());
        for (int i = 0; i < count; ++i)
          CHECK(in[static_cast<std::size_t>(i)] == 0.5F * static_cast<float>(i * step));
      }
    }
  }
}
