#include "finish/atrous.h"

#include <doctest/doctest.h>

#include <cmath>

#include "finish/blur.h"
#include "finish/detail.h"
#include "finish/restore.h"
#include "finish/strength.h"
#include "support/scene.h"

namespace {

using namespace lull;

double rms(const Plane& plane, int margin) {
  double squares = 0;
  int count = 0;
  for (int y = margin; y < plane.height() - margin; ++y) {
    for (int x = margin; x < plane.width() - margin; ++x) {
      squares += static_cast<double>(plane.row(y)[x]) * static_cast<double>(plane.row(y)[x]);
      ++count;
    }
  }
  return std::sqrt(squares / count);
}

Plane noise(Size size, double sigma, std::uint32_t seed) {
  Plane plane(size);
  test::add_noise(plane.view(), sigma, seed);
  return plane;
}

// From half stacks alone: a typical core of the blur is undone.
finish::Measurements measurements_of(const Plane& a, const Plane& b) {
  finish::Measurements measured;
  measured.noise.push_back(finish::half_difference(a.view(), b.view()));
  measured.frc = spectrum::fourier_ring_correlation(a.view(), b.view());
  return measured;
}

}  // namespace

TEST_SUITE("finish/atrous") {
  TEST_CASE("the picture is the sum of its planes, at any size") {
    for (const Size size : {Size{64, 48}, Size{17, 5}, Size{1, 9}}) {
      const Plane picture = noise(size, 1, 3);
      finish::AtrousPlanes parts = finish::atrous(picture.view(), 4);
      for (const Plane& plane : parts.planes) add(parts.smooth.view(), plane.view());
      for (int y = 0; y < size.height_px; ++y) {
        for (int x = 0; x < size.width_px; ++x) {
          CHECK(std::abs(parts.smooth.row(y)[x] - picture.row(y)[x]) < 1e-5F);
        }
      }
    }
  }

  // Starck & Murtagh: the outer product of [1 4 6 4 1] / 16, its taps 2^j px apart.
  TEST_CASE("one pixel of light is spread by the B3 spline, planes apart by powers of two") {
    Plane picture(33, 33);
    picture.row(16)[16] = 1;
    const finish::AtrousPlanes one = finish::atrous(picture.view(), 1);
    finish::AtrousPlanes two = finish::atrous(picture.view(), 2);
    const double taps[] = {1, 4, 6, 4, 1};
    double spread[33][33] = {};
    for (int j = -2; j <= 2; ++j) {
      for (int i = -2; i <= 2; ++i) {
        const double near = taps[j + 2] * taps[i + 2] / 256;
        CHECK(static_cast<double>(one.smooth.row(16 + j)[16 + i]) == doctest::Approx(near));
        for (int v = -2; v <= 2; ++v)
          for (int u = -2; u <= 2; ++u)
            spread[16 + j + 2 * v][16 + i + 2 * u] += near * taps[v + 2] * taps[u + 2] / 256;
      }
    }
    for (int y = 0; y < 33; ++y)
      for (int x = 0; x < 33; ++x)
        CHECK(std::abs(static_cast<double>(two.smooth.row(y)[x]) - spread[y][x]) < 1e-7);
  }

  TEST_CASE("white noise in each plane is that of the B3-spline table") {
    // Standard deviation per plane of unit noise, 2-D: Starck & Murtagh's table (0.8907 0.2007
    // 0.0856 0.0413 0.0205 there, from simulation; here from the impulse response).
    const Plane picture = noise({1024, 1024}, 1, 4);
    const finish::AtrousPlanes parts = finish::atrous(picture.view(), 4);
    const double table[] = {0.890796, 0.200664, 0.085508, 0.041217};
    for (std::size_t j = 0; j < 4; ++j) {
      // Coarser planes hold fewer independent values: about (1024 / 2^(j+1))^2.
      const double tolerance = 4 * std::pow(2.0, static_cast<double>(j) + 1) / 1024;
      CHECK(rms(parts.planes[j], 32) ==
            doctest::Approx(table[j]).epsilon(std::max(tolerance, 0.01)));
    }
  }
}

TEST_SUITE("finish/detail") {
  TEST_CASE("noise alone is not raised") {
    const Plane a = noise({160, 160}, 1, 5);
    const Plane b = noise({160, 160}, 1, 6);
    Plane mean = Plane::copy_of(a.view());
    add(mean.view(), b.view());
    scale(mean.view(), 0.5F);
    const auto result =
        finish::restore({mean.view()}, measurements_of(a, b), {finish::UndoAir{}, 1});
    CHECK(rms(result.channels[0], 0) == doctest::Approx(rms(mean, 0)));
  }

  TEST_CASE("the noise of the mean of two pictures is half of their difference") {
    Plane a(3, 1);
    Plane b(3, 1);
    a.row(0)[1] = 5;
    b.row(0)[1] = 2;
    b.row(0)[2] = 4;
    const Plane noise_of_mean = finish::half_difference(a.view(), b.view());
    CHECK(noise_of_mean.row(0)[0] == 0);
    CHECK(noise_of_mean.row(0)[1] == 1.5F);
    CHECK(noise_of_mean.row(0)[2] == -2);
  }

  // A checkerboard of height h is all in the finest plane: the spline takes it away. White noise of
  // 1 has 0.8908 there (Starck & Murtagh's table). With a gain of 2 and full restraint it gains the
  // share 1 - (0.8908 / h)^2 that exceeds the noise, by its definition.
  TEST_CASE("a checkerboard gains as much as it exceeds the noise of the finest plane") {
    for (const double height : {1.0, 1.25, 2.0}) {
      Plane board(128, 128);
      for (int y = 0; y < 128; ++y)
        for (int x = 0; x < 128; ++x)
          board.row(y)[x] = static_cast<float>((x + y) % 2 == 0 ? height : -height);
      const std::vector<spectrum::FilterPoint> twice = {{0, 1}, {0.3, 1}, {0.35, 2}, {0.8, 2}};
      const Plane result = finish::restore_detail(board.view(), twice, finish::Noise(1.0), 1);
      const double gained = std::abs(static_cast<double>(result.row(64)[64])) / height - 1;
      CHECK(gained == doctest::Approx(1 - std::pow(0.8908 / height, 2)).epsilon(0.02));
    }
  }

  TEST_CASE("a blurred scene comes nearer to the truth, its mean is kept") {
    const Size size{192, 192};
    const test::Scene scene(size, 6, 1.2, 4.0);
    const Plane truth = scene.seen(size, [](int, int) { return Displacement{}; });
    // Blur: a core of 0.4 and a halo, as stacks have it; the halo is the smooth rest after 3
    // planes.
    finish::AtrousPlanes parts = finish::atrous(truth.view(), 3);
    Plane blurred = std::move(parts.smooth);
    for (Plane& plane : parts.planes) {
      scale(plane.view(), 0.4F);
      add(blurred.view(), plane.view());
    }
    Plane a = Plane::copy_of(blurred.view());
    Plane b = Plane::copy_of(blurred.view());
    test::add_noise(a.view(), 0.002, 7);
    test::add_noise(b.view(), 0.002, 8);
    Plane halves_mean = Plane::copy_of(a.view());
    add(halves_mean.view(), b.view());
    scale(halves_mean.view(), 0.5F);
    const auto frc = spectrum::fourier_ring_correlation(a.view(), b.view());
    const double cutoff = frc.resolution().value_or(0) / 0.9;
    const finish::Blur blur{0.4, 0.38 * cutoff, cutoff};
    const auto gains = finish::wiener_filter(frc, [&](double f) { return blur.transfer(f); });
    const Plane noise_plane = finish::half_difference(a.view(), b.view());
    const Plane result = finish::restore_detail(halves_mean.view(), gains, noise_plane.view());
    const auto error = [&](const Plane& picture) {
      Plane difference = Plane::copy_of(picture.view());
      Plane negative = Plane::copy_of(truth.view());
      scale(negative.view(), -1);
      add(difference.view(), negative.view());
      return rms(difference, 16);
    };
    CHECK(error(result) < 0.7 * error(halves_mean));
    double before = 0;
    double after = 0;
    for (int y = 0; y < 192; ++y) {
      for (int x = 0; x < 192; ++x) {
        before += static_cast<double>(halves_mean.row(y)[x]);
        after += static_cast<double>(result.row(y)[x]);
      }
    }
    CHECK(after == doctest::Approx(before).epsilon(1e-3));
  }
}
