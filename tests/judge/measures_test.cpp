#include "judge/measures.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numbers>
#include <sstream>

#include "judge/support.h"
#include "judge/transforms.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::judge;

namespace {

/// The pair of 32 x 32 px of which scikit-image 0.19 gives the figures below.
struct Pair {
  Image a{32, 32};
  Image b{32, 32};
};

Pair published_pair() {
  Pair pair;
  for (int y = 0; y < 32; ++y) {
    for (int x = 0; x < 32; ++x) {
      const double value = std::round(128 + 60 * std::sin(x / 3.0) + 40 * std::cos(y / 4.0));
      pair.a.at(x, y) = value;
      pair.b.at(x, y) = std::clamp(value + (7 * x + 13 * y) % 11 - 5, 0.0, 255.0);
    }
  }
  return pair;
}

void check_like_skimage(const Image& a, const Image& b, double data_range) {
  const test::TemporaryFolder folder;
  test::write_values(folder / "a", a.samples);
  test::write_values(folder / "b", b.samples);
  const auto printed = test::reference_of(
      "judge/references.py",
      {"similarity", std::to_string(a.width_px), std::to_string(a.height_px),
       std::to_string(data_range), (folder / "a").string(), (folder / "b").string()});
  double ssim_expected = 0;
  double psnr_expected = 0;
  std::istringstream(printed) >> ssim_expected >> psnr_expected;
  CHECK(std::abs(ssim(a, b, data_range) - ssim_expected) < 1e-9);
  CHECK(std::abs(psnr_db(mean_squared_error(a, b), data_range) - psnr_expected) < 1e-9);
}

}  // namespace

TEST_SUITE("judge/measures") {
  TEST_CASE("a pair of 32 x 32 px: MSE 9.999023, PSNR 38.131228 dB, SSIM 0.9875191") {
    // scikit-image 0.19.3 with the settings of Wang et al. 2004, data range 255.
    const Pair pair = published_pair();
    const double error = mean_squared_error(pair.a, pair.b);
    CHECK(std::abs(error - 9.999023) < 1e-6);
    CHECK(std::abs(psnr_db(error, 255) - 38.131228) < 1e-6);
    CHECK(std::abs(ssim(pair.a, pair.b, 255) - 0.9875191) < 1e-7);
  }

  TEST_CASE("SSIM and PSNR are scikit-image's") {
    const Pair pair = published_pair();
    check_like_skimage(pair.a, pair.b, 255);
    const Image truth = test::highland_picture();
    for (const double sigma : {0.01, 0.05}) {
      check_like_skimage(truth, test::sum(truth, test::noise(truth.size(), sigma, 3)), 0.75);
    }
    check_like_skimage(truth, gaussian_blur(truth, 2), 0.75);
  }

  TEST_CASE("gain and offset come back, and then nothing is left") {
    const Image truth = test::highland_picture();
    const Image picture = applied({1 / 3.0, -0.1}, truth);
    const LinearFit fit = fit_linear(truth, picture);
    CHECK(std::abs(fit.gain - 3) < 1e-9);
    CHECK(std::abs(fit.offset - 0.3) < 1e-9);
    const Measures figures = measure(truth, picture, 0.35);
    CHECK(figures.psnr > 200);
    CHECK(figures.ssim > 1 - 1e-9);
    CHECK(figures.nrmse < 1e-9);
  }

  // By hand: half of the pixels are 0.4, half 0.8, of a picture that is off by 0.1 either way,
  // which no gain or offset explains. NRMSE is the error over the standard deviation of the truth,
  // 0.1 / 0.2; PSNR's peak is the highest value over a floor of 0: 20 log10(0.8 / 0.1).
  TEST_CASE("PSNR's peak begins at 0, NRMSE is a share of the deviation of the truth") {
    Image truth(64, 64);
    Image picture(64, 64);
    for (int y = 0; y < 64; ++y) {
      for (int x = 0; x < 64; ++x) {
        truth.at(x, y) = x % 4 < 2 ? 0.4 : 0.8;
        picture.at(x, y) = truth.at(x, y) + ((x + y) % 2 == 0 ? 0.1 : -0.1);
      }
    }
    const LinearFit fit = fit_linear(truth, picture);
    // Least squares shrinks the picture to its share of truth: 0.04 / (0.04 + 0.01) = 0.8, and
    // what is left has the variance 0.04 x 0.2 = 0.008.
    CHECK(fit.gain == doctest::Approx(0.8).epsilon(1e-6));
    const Measures figures = measure(truth, picture, 0.35);
    CHECK(figures.nrmse == doctest::Approx(std::sqrt(0.008) / 0.2).epsilon(1e-6));
    CHECK(figures.psnr == doctest::Approx(10 * std::log10(0.8 * 0.8 / 0.008)).epsilon(1e-6));
  }

  TEST_CASE("noise of a known ratio correlates with its signal as sqrt(SNR / (1 + SNR))") {
    // The expectation of the correlation of a signal with itself plus independent noise; compare
    // Rosenthal & Henderson 2003 JMB 333, 721.
    const Image signal = test::noise({256, 240}, 1, 5);
    for (const double sigma : {0.5, 1.0, 2.0}) {
      const Image picture = test::sum(signal, test::noise(signal.size(), sigma, 6));
      const RingCorrelation frc = ring_correlation(signal, picture, 0.4);
      const double snr = 1 / (sigma * sigma);
      CHECK(frc.area == doctest::Approx(std::sqrt(snr / (1 + snr))).epsilon(0.03));
    }
  }

  TEST_CASE("the curve falls below 0.5 where the noise begins to hide a blurred signal") {
    // White signal under a Gaussian blur of sigma 1.5 px: the correlation is 0.5 where the blur's
    // power gain is a third of the noise, f = sqrt(ln(3 / sigma^2)) / (2 pi 1.5) cycles/px.
    // A ring's correlation scatters by 0.03 at this size, its crossing by 0.005: hence the mean.
    const double sigma = 0.5;
    const double expected = std::sqrt(std::log(3 / (sigma * sigma))) / (2 * std::numbers::pi * 1.5);
    double found = 0;
    for (const std::uint32_t seed : {8U, 9U, 10U, 11U}) {
      const Image signal = test::noise({512, 512}, 1, seed);
      const Image picture =
          test::sum(gaussian_blur(signal, 1.5), test::noise(signal.size(), sigma, seed + 100));
      found += ring_correlation(signal, picture, 0.4).half * 0.4 / 4;
    }
    CHECK(std::abs(found - expected) < 0.01);
  }

  TEST_CASE(
      "a Gaussian blur's transfer is a Gaussian, whatever noise is added and at any brightness") {
    // The Fourier transform of a Gaussian of sigma s is exp(-2 pi^2 s^2 f^2): Bracewell 2000, The
    // Fourier Transform and Its Applications, 3rd ed.
    constexpr double kSigmaPx = 1.2;
    constexpr double kCutoff = 0.35;
    const Image truth = test::noise({512, 512}, 1, 21);
    Image picture = test::sum(gaussian_blur(truth, kSigmaPx), test::noise(truth.size(), 0.3, 22));
    for (double& sample : picture.samples) sample *= 7;
    const auto transfer = ring_correlation(truth, picture, kCutoff).transfer;
    REQUIRE(transfer.size() == 50);
    for (std::size_t ring = 2; ring < transfer.size(); ++ring) {
      const double f = (static_cast<double>(ring) + 0.5) * kCutoff / 50;
      const double expected = std::exp(-2 * std::pow(std::numbers::pi * kSigmaPx * f, 2));
      CHECK(std::abs(transfer[ring] - expected) < 0.03);
    }
  }

  TEST_CASE("the best radial filter leaves Wiener's error, and undoes any isotropic blur") {
    // White signal of power 1 in white noise of power n: n / (1 + n).
    const Image signal = test::noise({200, 180}, 1, 11);
    for (const double sigma : {0.3, 1.0}) {
      const Image picture = test::sum(signal, test::noise(signal.size(), sigma, 12));
      const double power = sigma * sigma;
      CHECK(best_radial_error(signal, picture, 0.35) ==
            doctest::Approx(power / (1 + power)).epsilon(0.03));
    }
    const Image truth = test::highland_picture();
    const Image blurred = gaussian_blur(truth, 1);
    CHECK(best_radial_error(truth, blurred, 0.35) < 0.01 * mean_squared_error(truth, blurred));
  }
}
