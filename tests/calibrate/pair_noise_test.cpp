#include "calibrate/pair_noise.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <random>

#include "support/frames.h"
#include "support/memory_capture.h"

using namespace lull;
using namespace lull::test;
using calibrate::PairNoise;
using calibrate::photon_transfer;

// Truth: Poisson electrons and Gaussian read noise, so that variance = mean / gain + read noise^2
// (Janesick, Photon Transfer, SPIE Press 2007, from memory). 3% is what is asked of the gain; with
// 16 pairs of 60,000 samples its statistical error is 0.2%.

TEST_SUITE("calibrate/pair_noise") {
  namespace {

  constexpr Size kSize{300, 200};

  struct Sensor {
    double gain_e_per_adu = 2;
    double read_noise_e = 5;
    double offset_adu = 60;
    double vignetting = 0.4;
    double unequal = 0.05;  ///< spread of the pixels' response: a fixed pattern
    double flicker = 0;     ///< of the lamp, from frame to frame
    int shift = 0;          ///< bits below the used ones
    std::array<double, 4> colours = {1, 1, 1, 1};
  };

  std::vector<Samples> exposures(const Sensor& sensor, double electrons, int count, unsigned seed,
                                 double full_scale, std::size_t planes = 1) {
    std::mt19937 random(seed);
    std::normal_distribution<double> normal;
    std::mt19937 fixed(7);
    std::vector<double> response;
    for (std::size_t p = 0; p < planes; ++p) {
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) {
          const double from_centre = std::hypot(x - 150, y - 100) / 180;
          response.push_back((1 - sensor.vignetting * from_centre * from_centre) *
                             std::max(0.1, 1 + sensor.unequal * normal(fixed)) *
                             sensor.colours[static_cast<std::size_t>(2 * (y % 2) + x % 2)]);
        }
      }
    }
    std::vector<Samples> frames(static_cast<std::size_t>(count));
    for (Samples& frame : frames) {
      const double lamp = electrons * (1 + sensor.flicker * normal(random));
      for (const double share : response) {
        const double mean = lamp * share;
        const double counted =
            mean > 0 ? static_cast<double>(std::poisson_distribution<int>(mean)(random)) : 0;
        const double adu =
            std::round((counted + sensor.read_noise_e * normal(random)) / sensor.gain_e_per_adu +
                       sensor.offset_adu);
        const auto stored = static_cast<unsigned>(std::clamp(adu, 0.0, full_scale));
        frame.push_back(static_cast<std::uint16_t>(stored << static_cast<unsigned>(sensor.shift)));
      }
    }
    return frames;
  }

  std::optional<calibrate::PhotonTransfer> measured(const Sensor& sensor, double electrons,
                                                    const capture::CaptureInfo& info) {
    const double full_scale = std::exp2(info.bits.used) - 1;
    const std::size_t planes = info.colour == capture::Colour::rgb ? 3 : 1;
    MemoryCapture flat(info, exposures(sensor, electrons, 8, 1, full_scale, planes));
    MemoryCapture dark(info, exposures(sensor, 0, 8, 2, full_scale, planes));
    const auto flat_noise = calibrate::pair_noise(flat);
    const auto dark_noise = calibrate::pair_noise(dark);
    REQUIRE(flat_noise);
    REQUIRE(dark_noise);
    return photon_transfer(*flat_noise, dark_noise, dark_noise->mean_adu);
  }

  void check(const Sensor& sensor, double electrons, const capture::CaptureInfo& info) {
    const auto found = measured(sensor, electrons, info);
    REQUIRE(found);
    CHECK(found->gain_e_per_adu == doctest::Approx(sensor.gain_e_per_adu).epsilon(0.03));
    CHECK(std::abs(found->gain_e_per_adu - sensor.gain_e_per_adu) < 5 * found->gain_sigma + 1e-3);
    REQUIRE(found->read_noise_e);
    CHECK(*found->read_noise_e == doctest::Approx(sensor.read_noise_e).epsilon(0.03));
  }

  }  // namespace

  TEST_CASE("gain and read noise within 3% from pairs, fixed pattern and vignetting regardless") {
    for (const double gain : {0.5, 2.0, 6.0}) {
      CAPTURE(gain);
      Sensor sensor;
      sensor.gain_e_per_adu = gain;
      check(sensor, 2000 * gain, mono_info(kSize, 12));
    }
  }

  TEST_CASE("a lamp that flickers by 5% does no harm") {
    Sensor sensor;
    sensor.flicker = 0.05;
    check(sensor, 4000, mono_info(kSize, 12));
  }

  TEST_CASE("colours of unequal brightness, on a mosaic and in planes") {
    Sensor sensor;
    sensor.colours = {0.4, 1, 1, 0.6};
    check(sensor, 4000, mosaic_info(kSize, 12, capture::Cfa::rggb));
    check(sensor, 4000, rgb_info(kSize, 12));
  }

  TEST_CASE("bits at the high end of the word count in the sensor's unit") {
    Sensor sensor;
    sensor.shift = 4;
    check(sensor, 4000, high_aligned(mono_info(kSize, 12)));
  }

  TEST_CASE("hits of single frames and dead pixels are left out") {
    const auto info = mono_info(kSize, 12);
    const Sensor sensor;
    auto frames = exposures(sensor, 4000, 8, 1, 4095);
    for (std::size_t i = 0; i < frames.size(); ++i) {
      for (std::size_t hit = 0; hit < 50; ++hit) frames[i][(hit * 1201 + i * 77) % 60000] = 4094;
    }
    MemoryCapture flat(info, frames);
    MemoryCapture clean(info, exposures(sensor, 4000, 8, 1, 4095));
    const auto with_hits = calibrate::pair_noise(flat);
    const auto without = calibrate::pair_noise(clean);
    REQUIRE(with_hits);
    REQUIRE(without);
    CHECK(with_hits->variance_adu2 == doctest::Approx(without->variance_adu2).epsilon(0.01));
  }

  TEST_CASE("a figure that cannot be measured is not reported") {
    const auto info = mono_info(kSize, 12);
    SUBCASE("all saturated") {
      MemoryCapture flat(info, exposures({}, 40000, 4, 1, 4095));
      CHECK_FALSE(calibrate::pair_noise(flat));
    }
    SUBCASE("a single frame") {
      MemoryCapture flat(info, exposures({}, 4000, 1, 1, 4095));
      CHECK_FALSE(calibrate::pair_noise(flat));
    }
    SUBCASE("a flat no brighter than its dark") {
      CHECK_FALSE(photon_transfer({60, 4, 1000}, PairNoise{60, 4, 1000}, 60));
      CHECK_FALSE(photon_transfer({50, 9, 1000}, PairNoise{60, 4, 1000}, 60));
    }
    SUBCASE("read noise that rounding hides") {
      Sensor sensor;
      sensor.gain_e_per_adu = 40;
      sensor.read_noise_e = 3;
      const auto found = measured(sensor, 100000, info);
      REQUIRE(found);
      CHECK(found->gain_e_per_adu == doctest::Approx(40).epsilon(0.03));
      CHECK_FALSE(found->read_noise_e);
    }
  }
}
