#include "judge/transforms.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "judge/spline.h"
#include "judge/support.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::judge;

namespace {

std::vector<std::string> words(const std::string& job, const Image& image,
                               const std::vector<std::string>& more) {
  std::vector<std::string> result = {job, std::to_string(image.width_px),
                                     std::to_string(image.height_px)};
  result.insert(result.end(), more.begin(), more.end());
  return result;
}

double largest_difference(const std::vector<double>& a, const std::vector<double>& b) {
  REQUIRE(a.size() == b.size());
  double largest = 0;
  for (std::size_t i = 0; i < a.size(); ++i) largest = std::max(largest, std::abs(a[i] - b[i]));
  return largest;
}

/// A cosine that fits the mirrored borders of the image: its samples at pixel centres.
Image wave(Size size, int periods_x, int periods_y) {
  Image image(size);
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      image.at(x, y) = std::cos(std::numbers::pi * periods_x * (x + 0.5) / size.width_px) *
                       std::cos(std::numbers::pi * periods_y * (y + 0.5) / size.height_px);
    }
  }
  return image;
}

constexpr Size kSizes[] = {{64, 48}, {67, 41}, {33, 90}};

}  // namespace

TEST_SUITE("judge/transforms") {
  TEST_CASE("blurs are scipy.ndimage.gaussian_filter's, also when wider than the picture") {
    const test::TemporaryFolder folder;
    const std::string in = (folder / "in").string();
    const std::string out = (folder / "out").string();
    for (const Size size : kSizes) {
      const Image image = test::noise(size, 1, 21);
      test::write_values(in, image.samples);
      std::vector<std::string> arguments = words("blur", image, {in, out});
      std::vector<double> ours;
      for (const double sigma : {0.7, 1.5, 14.0, 28.0}) {
        for (const double truncate : {3.5, 4.0}) {
          arguments.push_back(std::to_string(sigma) + "," + std::to_string(truncate));
          const Image blurred = gaussian_blur(image, sigma, truncate);
          ours.insert(ours.end(), blurred.samples.begin(), blurred.samples.end());
        }
      }
      test::reference_of("judge/references.py", arguments);
      CHECK(largest_difference(ours, test::values_of<double>(out)) < 1e-12);
    }
  }

  TEST_CASE("cosine transforms are scipy.fft.dctn's with norm='ortho', and come back") {
    const test::TemporaryFolder folder;
    const std::string in = (folder / "in").string();
    const std::string out = (folder / "out").string();
    for (const Size size : kSizes) {
      const Image image = test::noise(size, 1, 22);
      const Image coefficients = cosine(image);
      CHECK(test::largest_difference(inverse_cosine(coefficients), image) < 1e-12);
      test::write_values(in, image.samples);
      test::reference_of("judge/references.py", words("cosine", image, {in, out}));
      CHECK(largest_difference(coefficients.samples, test::values_of<double>(out)) < 1e-11);
    }
  }

  TEST_CASE("a reduced wave is the same wave on fewer pixels") {
    for (const double scale : {1.0, 1.2, 1.25, 1.5, 2.0, 2.5, 3.0}) {
      CAPTURE(scale);
      const Size large = {90, 60};
      const Size small = {static_cast<int>(90 / scale), static_cast<int>(60 / scale)};
      CHECK(test::largest_difference(reduced(wave(large, 7, 4), scale), wave(small, 7, 4)) < 1e-12);
      // What the smaller grid cannot hold is left out, not folded back.
      if (scale > 1) {
        CHECK(test::largest_difference(reduced(wave(large, 80, 4), scale), Image(small)) < 1e-12);
      }
    }
  }

  TEST_CASE("correlation is the sum that defines it") {
    const Image a = test::noise({7, 5}, 1, 31);
    const Image b = test::noise({4, 6}, 1, 32);
    const Size size = {12, 12};
    const Image found = correlate(a, b, size);
    for (int dy = -5; dy < 5; ++dy) {
      for (int dx = -3; dx < 7; ++dx) {
        double expected = 0;
        for (int y = 0; y < b.height_px; ++y) {
          for (int x = 0; x < b.width_px; ++x) {
            const int ax = x + dx;
            const int ay = y + dy;
            if (ax < 0 || ay < 0 || ax >= a.width_px || ay >= a.height_px) continue;
            expected += a.at(ax, ay) * b.at(x, y);
          }
        }
        CHECK(std::abs(found.at((dx + 12) % 12, (dy + 12) % 12) - expected) < 1e-12);
      }
    }
  }
}

TEST_SUITE("judge/spline") {
  TEST_CASE("values are scipy.ndimage.map_coordinates(order=5, mode='mirror')'s, outside too") {
    const test::TemporaryFolder folder;
    const std::string in = (folder / "in").string();
    const std::string places = (folder / "places").string();
    const std::string out = (folder / "out").string();
    for (const Size size : {Size{9, 7}, Size{40, 23}}) {
      const Image image = test::noise(size, 1, 41);
      std::vector<double> xs;
      std::vector<double> ys;
      for (int i = 0; i < 400; ++i) {
        xs.push_back(-6 + std::fmod(i * 0.618034, 1.0) * (size.width_px + 11));
        ys.push_back(-6 + std::fmod(i * 0.754878, 1.0) * (size.height_px + 11));
      }
      std::vector<double> both = xs;
      both.insert(both.end(), ys.begin(), ys.end());
      test::write_values(in, image.samples);
      test::write_values(places, both);
      test::reference_of("judge/references.py", words("spline", image, {in, places, out}));
      const Spline spline(image);
      std::vector<double> found;
      for (std::size_t i = 0; i < xs.size(); ++i) found.push_back(spline.at(xs[i], ys[i]));
      CHECK(largest_difference(found, test::values_of<double>(out)) < 1e-10);
    }
  }

  TEST_CASE("the samples themselves are met") {
    const Image image = test::noise({30, 20}, 1, 42);
    CHECK(test::largest_difference(Spline(image).sampled(image.size(), {}), image) < 1e-12);
  }
}
