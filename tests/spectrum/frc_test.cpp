#include "spectrum/frc.h"

#include <doctest/doctest.h>

#include <cmath>

#include "support/scene.h"

namespace {

using namespace lull;

Plane noise(Size size, double sigma, std::uint32_t seed) {
  Plane plane(size);
  test::add_noise(plane.view(), sigma, seed);
  return plane;
}

}  // namespace

TEST_SUITE("spectrum/frc") {
  TEST_CASE("thresholds by hand: three standard deviations of chance, or 1/7 if that is more") {
    CHECK(spectrum::resolution_threshold(50) == doctest::Approx(0.3));  // 3 / sqrt(100)
    CHECK(spectrum::resolution_threshold(1000) == doctest::Approx(1.0 / 7));
  }

  // Of a window of 64 x 64 px the rings up to 0.5 cycles/px hold pi 32^2 bins. Half of them repeat
  // the others, and under the taper one in two is independent.
  TEST_CASE("rings count a quarter of their bins as independent values") {
    Plane plane(64, 64);
    plane.row(3)[5] = 1;
    double sum = 0;
    for (const auto& ring : spectrum::fourier_ring_correlation(plane.view(), plane.view()).rings)
      sum += ring.samples;
    CHECK(sum == doctest::Approx(3.14159265 * 32 * 32 / 4).epsilon(0.02));
  }

  // Along an edge nothing is known: of eight directions one is sure.
  TEST_CASE("the mean of directions is not taken in by an edge") {
    const Size size{128, 128};
    Plane first = noise(size, 0.02, 1);
    Plane second = noise(size, 0.02, 2);
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 64; x < size.width_px; ++x) {
        first.row(y)[x] += 1;
        second.row(y)[x] += 1;
      }
    }
    const auto rings = spectrum::fourier_ring_correlation(first.view(), second.view()).rings;
    const auto mean = spectrum::mean_sector_correlation(first.view(), second.view()).rings;
    REQUIRE(mean.size() == rings.size());
    for (std::size_t i = rings.size() / 3; i < rings.size(); ++i) {
      CAPTURE(rings[i].frequency);
      CHECK(mean[i].samples == rings[i].samples);
      CHECK(rings[i].correlation > 0.5);
      CHECK(mean[i].correlation < 0.3);
    }
  }

  TEST_CASE("where no direction is sharper, the mean of directions is the correlation of rings") {
    const Size size{128, 128};
    Plane first = noise(size, 1, 3);
    Plane second = Plane::copy_of(first.view());
    test::add_noise(first.view(), 1, 4);
    test::add_noise(second.view(), 1, 5);
    const auto mean = spectrum::mean_sector_correlation(first.view(), second.view()).rings;
    // Half of the power is common: 0.5 in each ring.
    double sum = 0;
    for (std::size_t i = 8; i < mean.size(); ++i) {
      CHECK(mean[i].correlation == doctest::Approx(0.5).epsilon(0.35));
      sum += mean[i].correlation;
    }
    CHECK(sum / static_cast<double>(mean.size() - 8) == doctest::Approx(0.5).epsilon(0.04));
  }

  // Shannon: log2(1 + SNR), SNR = 2 f / (1 - f) of the mean of both halves; of 0.5 that is 2.
  TEST_CASE("information of a ring that correlates by a half is log2 3 bits") {
    spectrum::FrcCurve curve;
    curve.rings = {{0.1, 0.5, 1e6}, {0.3, 0.0, 1e6}};
    CHECK(curve.information_bits() == doctest::Approx(1.5849625 / 2));
  }

  TEST_CASE("half-bit thresholds are those of van Heel & Schatz 2005") {
    // J. Struct. Biol. 151, 250: (0.2071 + 1.9102 / sqrt n) / (1.2071 + 0.9102 / sqrt n).
    CHECK(spectrum::half_bit_threshold(10) == doctest::Approx(0.54261).epsilon(1e-4));
    CHECK(spectrum::half_bit_threshold(50) == doctest::Approx(0.35727).epsilon(1e-4));
    CHECK(spectrum::half_bit_threshold(100) == doctest::Approx(0.30669).epsilon(1e-4));
    CHECK(spectrum::half_bit_threshold(500) == doctest::Approx(0.23443).epsilon(1e-4));
  }

  TEST_CASE("independent noise correlates by chance only, and has no resolution") {
    for (const std::uint32_t seed : {1U, 2U, 3U}) {
      const auto frc = spectrum::fourier_ring_correlation(noise({180, 160}, 1, seed).view(),
                                                          noise({180, 160}, 1, seed + 100).view());
      for (const auto& ring : frc.rings) {
        CHECK(std::abs(ring.correlation) < 4 / std::sqrt(ring.samples + 1));
      }
      CHECK_FALSE(frc.resolution().has_value());
      CHECK(frc.information_bits() < 0.05);
    }
  }

  TEST_CASE("noise of a known ratio correlates as SNR / (1 + SNR)") {
    // The expectation of the FRC of two pictures with the same signal and independent noise.
    const Plane signal = noise({256, 256}, 1, 5);
    for (const double sigma : {0.5, 1.0, 2.0}) {
      Plane a = noise({256, 256}, sigma, 6);
      Plane b = noise({256, 256}, sigma, 7);
      add(a.view(), signal.view());
      add(b.view(), signal.view());
      const auto frc = spectrum::fourier_ring_correlation(a.view(), b.view());
      const double snr = 1 / (sigma * sigma);
      double sum = 0;
      int count = 0;
      for (const auto& ring : frc.rings) {
        if (ring.samples < 100) continue;
        sum += ring.correlation;
        ++count;
      }
      CHECK(sum / count == doctest::Approx(snr / (1 + snr)).epsilon(0.05));
    }
  }

  TEST_CASE("resolution is where the signal ends") {
    // Blobs of sigma 3 px hold nothing beyond about 0.2 cycles/px.
    const test::Scene scene({192, 192}, 4, 3.0, 6.0);
    Plane a = scene.seen({192, 192}, [](int, int) { return Displacement{}; });
    Plane b = Plane::copy_of(a.view());
    test::add_noise(a.view(), 0.005, 8);
    test::add_noise(b.view(), 0.005, 9);
    const auto resolution = spectrum::fourier_ring_correlation(a.view(), b.view()).resolution();
    REQUIRE(resolution.has_value());
    CHECK(*resolution > 0.08);
    CHECK(*resolution < 0.25);
  }
}
