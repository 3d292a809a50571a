#include "lab/camera.h"

#include <doctest/doctest.h>

#include <cmath>

using lull::Plane;
using lull::lab::Camera;
using lull::lab::Parameters;

namespace {

Parameters clean() {
  Parameters p;
  p.width_px = 200;
  p.height_px = 160;
  p.camera.bits = 12;
  p.camera.stored_bits = 16;
  p.camera.offset_adu = 100;
  p.camera.read_noise_e = 6;
  p.camera.dark_e_per_s = 0;
  p.camera.peak_electrons = 9000;
  return p;
}

struct Pair {
  double mean = 0;
  double variance = 0;  ///< of one frame: half that of the difference
};

Pair pair_of(const lull::lab::Samples& a, const lull::lab::Samples& b) {
  Pair out;
  const double n = static_cast<double>(a.size());
  double difference = 0;
  double square = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double d = static_cast<double>(a[i]) - static_cast<double>(b[i]);
    out.mean += (static_cast<double>(a[i]) + static_cast<double>(b[i])) / (2 * n);
    difference += d / n;
    square += d * d / n;
  }
  out.variance = (square - difference * difference) / 2;
  return out;
}

}  // namespace

TEST_SUITE("lab/camera") {
  TEST_CASE("dark current grows with the exposure") {
    Parameters p = clean();
    p.camera.dark_e_per_s = 4000;
    p.camera.exposure_s = 0.05;
    p.camera.frames_per_s = 10;
    const Camera camera(p);
    const auto dark = camera.dark(0);
    double mean = 0;
    for (const auto value : dark)
      mean += static_cast<double>(value) / static_cast<double>(dark.size());
    // 200 electrons; the mean of 32,000 pixels is known to 0.1 of them.
    CHECK(mean == doctest::Approx(100 + 200 / camera.gain_e_per_adu()).epsilon(0.005));
  }

  // Photon transfer: variance = mean / K + read^2 (Janesick, Photon Transfer, SPIE Press 2007,
  // from memory), from the difference of two frames, so that fixed patterns drop out.
  TEST_CASE("noise follows the photon transfer curve") {
    const Parameters p = clean();
    const Camera camera(p);
    const double gain = camera.gain_e_per_adu();
    for (const double level : {0.02, 0.2, 0.9}) {
      CAPTURE(level);
      std::vector<Plane> light;
      light.emplace_back(p.width_px, p.height_px);
      light[0].fill(static_cast<float>(level));
      const Pair pair = pair_of(camera.expose(light, 1, 0), camera.expose(light, 1, 1));
      const double signal = pair.mean - p.camera.offset_adu;
      const double expected = signal / gain + 36 / (gain * gain) + 1.0 / 12;
      CHECK(signal * gain == doctest::Approx(9000 * level).epsilon(0.01));
      // 32,000 differences: the variance is known to sqrt(2 / N) = 0.8%; four times that.
      CHECK(pair.variance == doctest::Approx(expected).epsilon(0.032));
    }
  }

  TEST_CASE("saturates at full scale, and stores at the end of the word that was asked for") {
    Parameters p = clean();
    p.camera.align = "high";
    const Camera camera(p);
    std::vector<Plane> light;
    light.emplace_back(p.width_px, p.height_px);
    light[0].fill(5);
    for (const auto sample : camera.expose(light, 1, 0)) CHECK(sample == 4095 << 4);
  }

  TEST_CASE("hot pixels, dust and vignetting are in the dark and the flat") {
    Parameters p = clean();
    p.camera.hot_share = 0.001;
    p.camera.vignetting = 0.3;
    p.camera.dust = 3;
    const Camera camera(p);
    const auto dark = camera.dark(0);
    const auto flat = camera.flat(0);
    int hot = 0;
    for (const auto sample : dark) hot += static_cast<int>(sample > 200);
    // Binomial: 32 of 32,000 expected, four standard deviations.
    CHECK(hot >= 10);
    CHECK(hot <= 55);
    double corner = 0;
    double middle = 0;
    for (int y = 0; y < 12; ++y) {
      for (int x = 0; x < 12; ++x) {
        corner += flat[static_cast<std::size_t>(std::ptrdiff_t{y} * 200 + x)] - 100;
        middle += flat[static_cast<std::size_t>(std::ptrdiff_t{80 + y} * 200 + 100 + x)] - 100;
      }
    }
    CHECK(corner / middle < 0.8);
    CHECK(corner / middle > 0.55);
  }

  TEST_CASE("a mosaic has the colours of its name") {
    Parameters p = clean();
    p.camera.colour = "grbg";
    const Camera camera(p);
    CHECK(camera.channel_at(0, 0) == 1);
    CHECK(camera.channel_at(1, 0) == 0);
    CHECK(camera.channel_at(0, 1) == 2);
    CHECK(camera.channel_at(1, 1) == 1);
    CHECK(camera.channel_at(2, 3) == 2);
  }
}
