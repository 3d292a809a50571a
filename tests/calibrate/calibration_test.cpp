#include "calibrate/calibration.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <random>

#include "core/cpu.h"
#include "core/error.h"
#include "support/frames.h"
#include "support/masters.h"
#include "support/memory_capture.h"
#include "support/text.h"

using namespace lull;
using namespace lull::test;
using calibrate::Calibration;
using calibrate::Masters;
using capture::CaptureInfo;
using capture::Cfa;

TEST_SUITE("calibrate/calibration") {
  namespace {

  constexpr Size kSize{67, 45};
  constexpr double kBlack = 4096;
  constexpr double kUnits = 40000;

  /// A sensor with every fault that a dark and a flat can correct; values in stored units of 12
  /// bits. Deterministic, without time.
  struct Sensor {
    std::vector<std::pair<int, int>> hot{{5, 5}, {30, 20}, {31, 20}, {66, 44}};

    [[nodiscard]] double dark(int x, int y) const {
      for (const auto& [hx, hy] : hot) {
        if (hx == x && hy == y) return 1500;
      }
      return 64 + 9 * std::sin(0.9 * x) + 5 * std::cos(1.7 * y) + 0.2 * x;  // columns, rows, glow
    }

    /// Part of the light that is recorded: vignetting to 60 %, unequal pixels, two specks of dust.
    [[nodiscard]] double response(int x, int y) const {
      const double radius2 = (std::pow(x - 33, 2) + std::pow(y - 22, 2)) / (33.0 * 33 + 22 * 22);
      const double unequal = 1 + 0.02 * std::sin(37.0 * x + 91.0 * y);
      const double dust = 1 - 0.3 * std::exp(-(std::pow(x - 50, 2) + std::pow(y - 12, 2)) / 18) -
                          0.2 * std::exp(-(std::pow(x - 12, 2) + std::pow(y - 33, 2)) / 32);
      return (1 - 0.4 * radius2) * unequal * dust;
    }

    [[nodiscard]] double mean_response() const {
      double sum = 0;
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) sum += response(x, y);
      }
      return sum / static_cast<double>(kSize.area_px());
    }
  };

  /// A bright disc with bands on dark sky, 0 to 0.6.
  double scene(int x, int y) {
    const double radius = std::hypot(x - 33.0, y - 22.0);
    return 0.6 / (1 + std::exp((radius - 15) / 1.5)) * (0.8 + 0.2 * std::sin(0.7 * y));
  }

  /// Smallest and largest of the scene among the pixels that (x, y) may be repaired from.
  std::pair<double, double> scene_around(int x, int y) {
    std::pair<double, double> range{1, 0};
    for (int ny = std::max(0, y - 2); ny <= std::min(kSize.height_px - 1, y + 2); ++ny) {
      for (int nx = std::max(0, x - 2); nx <= std::min(kSize.width_px - 1, x + 2); ++nx) {
        if (std::abs(nx - x) + std::abs(ny - y) > 2 || (nx == x && ny == y)) continue;
        range = {std::min(range.first, scene(nx, ny)), std::max(range.second, scene(nx, ny))};
      }
    }
    return range;
  }

  double light_of(std::uint16_t stored) { return (stored - kBlack) / kUnits; }

  Masters with(std::optional<calibrate::Master> dark, std::optional<calibrate::Master> flat,
               std::optional<calibrate::Master> flat_dark = std::nullopt) {
    return {std::move(dark), std::move(flat), std::move(flat_dark), std::nullopt};
  }

  }  // namespace

  // Formula of all cases: Janesick, Photon Transfer, SPIE Press 2007 (from memory):
  // (light - dark) / (flat - flat dark) * mean(flat - flat dark).

  TEST_CASE("four pixels worked by hand") {
    const Size size{4, 1};
    const CaptureInfo info = mono_info(size, 12);
    const Calibration calibration(
        info, with(master_of(info, {100, 120, 100, 100}), master_of(info, {1050, 2050, 1550, 1550}),
                   master_of(info, {50, 50, 50, 50})));
    // flat - flat dark = 1000 2000 1500 1500, mean 1500.
    // light - dark = 1000 2000 800, the last saturated -> 1500 1500 800 of 4095.
    // 4096 + 40000 * 1500 / 4095 = 18748.01; 4096 + 40000 * 800 / 4095 = 11910.35.
    CHECK(calibrate_one(calibration, info, {1100, 2120, 900, 4095}) ==
          Samples{18748, 18748, 11910, 65535});
    // Under the dark: -30 -> 4096 - 40000 * 30 * 1.5 / 4095 = 3656.44 at the first.
    CHECK(calibrate_one(calibration, info, {70, 120, 100, 4094})[0] == 3656);
    // Not saturated, but beyond: (4094 - 100) * 1.5 = 5991 -> 62615.6.
    CHECK(calibrate_one(calibration, info, {4094, 120, 100, 0})[0] == 62616);
  }

  TEST_CASE("what lies beyond the calibrated range stops at its ends, and is not saturated") {
    const Size size{3, 1};
    const CaptureInfo info = mono_info(size, 12);
    const Calibration calibration(
        info, with(master_of(info, {900, 900, 900}), master_of(info, {600, 1200, 1800}),
                   master_of(info, {0, 0, 0})));
    // Gains 2, 1 and 2/3: (4094 - 900) * 2 = 6388 -> 66494; (0 - 900) * 2 -> -13486;
    // (0 - 900) -> -4695; (0 - 900) * 2/3 = -600 -> 4096 - 5860.81 = -1764.81.
    CHECK(calibrate_one(calibration, info, {4094, 0, 4095}) == Samples{65534, 0, 65535});
    CHECK(calibrate_one(calibration, info, {0, 900, 0}) == Samples{0, 4096, 0});
  }

  TEST_CASE("the black level of a limited-range flat is no light") {
    const Size size{3, 1};
    CaptureInfo info = mono_info(size, 8);
    info.colour = capture::Colour::luma;
    info.scale = {16.0, 1.0 / 219};  // ITU-R BT.601: black 16, white 235
    info.full_scale = 235;
    const Calibration calibration(info, with(std::nullopt, master_of(info, {96, 116, 136})));
    // Signals 80 100 120, mean 100; light - black the same -> 100 of 219: 4096 + 18264.84.
    CHECK(calibrate_one(calibration, info, {96, 116, 136}) == Samples(3, 22361));
  }

  TEST_CASE("without masters only the scale changes: 8, 12 and 16 bits, low and high end") {
    for (const int bits : {8, 12, 16}) {
      const CaptureInfo info = mono_info({3, 1}, bits);
      const auto top = static_cast<std::uint16_t>(info.full_scale);
      const Calibration calibration(info, {});
      const Samples out = calibrate_one(calibration, info, {0, 51, top});
      CHECK(out[0] == 4096);
      CHECK(std::abs(out[1] - (4096 + 40000 * 51 / info.full_scale)) <= 0.5);
      CHECK(out[2] == 65535);
    }
    const CaptureInfo high = high_aligned(mono_info({3, 1}, 12));
    // 0x8000 = 2048 of 4095: 4096 + 40000 * 2048 / 4095 = 24100.88.
    CHECK(calibrate_one(Calibration(high, {}), high, {0, 0x8000, 0xFFF0}) ==
          Samples{4096, 24101, 65535});
    CaptureInfo luma = mono_info({3, 1}, 8);
    luma.scale = {16.0, 1.0 / 219};  // ITU-R BT.601: black 16, white 235
    luma.full_scale = 235;
    CHECK(calibrate_one(Calibration(luma, {}), luma, {16, 0, 235}) == Samples{4096, 1174, 65535});
  }

  TEST_CASE("a faulty sensor's frame becomes the truth, to the rounding of what was stored") {
    const Sensor sensor;
    const CaptureInfo info = mono_info(kSize, 12);
    const auto dark = samples_of(kSize, [&](int x, int y) { return sensor.dark(x, y); });
    const auto flat = samples_of(
        kSize, [&](int x, int y) { return sensor.dark(x, y) + 2200 * sensor.response(x, y); });
    const auto light = samples_of(kSize, [&](int x, int y) {
      return sensor.dark(x, y) + 4095 * scene(x, y) * sensor.response(x, y);
    });
    const Calibration calibration(info, with(master_of(info, dark), master_of(info, flat)));
    CHECK(has_note(calibration.notes(), "4 hot pixels"));
    CHECK_FALSE(has_note(calibration.notes(), "cold pixels"));
    const Samples out = calibrate_one(calibration, info, light);
    const double mean = sensor.mean_response();
    double uncalibrated = 0;
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        const double truth = scene(x, y) * mean;
        const auto i = static_cast<std::size_t>(std::ptrdiff_t{y} * kSize.width_px + x);
        uncalibrated = std::max(uncalibrated, std::abs(light[i] / 4095.0 - truth));
        bool is_hot = false;
        for (const auto& [hx, hy] : sensor.hot) is_hot = is_hot || (hx == x && hy == y);
        // Light and dark are off by up to half a unit each, as are flat and dark; then the
        // output's own half unit. A repaired pixel lies between the truths around it.
        const double gain = mean / sensor.response(x, y);
        const double bound = gain / 4095 + truth / (2200 * sensor.response(x, y)) + 0.5 / kUnits;
        const auto [least, most] =
            is_hot ? scene_around(x, y) : std::pair(scene(x, y), scene(x, y));
        CHECK(light_of(out[i]) > least * mean - bound);
        CHECK(light_of(out[i]) < most * mean + bound);
      }
    }
    CHECK(uncalibrated > 0.3);
  }

  TEST_CASE("the noise that remains is what the propagation of errors predicts") {
    const Sensor sensor;
    const CaptureInfo info = mono_info(kSize, 12);
    const double sigma = 6;
    const int darks = 25, flats = 16, flat_darks = 9;
    std::mt19937 random(20250311);
    std::normal_distribution<double> noise(0, sigma);
    const auto record = [&](int count, double light_units, bool with_scene) {
      std::vector<Samples> frames;
      frames.reserve(static_cast<std::size_t>(count));
      for (int f = 0; f < count; ++f) {
        frames.push_back(samples_of(kSize, [&](int x, int y) {
          const double light = light_units * (with_scene ? scene(x, y) : 1.0);
          return sensor.dark(x, y) + light * sensor.response(x, y) + noise(random);
        }));
      }
      return MemoryCapture(info, std::move(frames));
    };
    auto dark = record(darks, 0, false);
    auto flat = record(flats, 2000, false);
    auto flat_dark = record(flat_darks, 0, false);
    const Calibration calibration(info, with(calibrate::average(dark), calibrate::average(flat),
                                             calibrate::average(flat_dark)));
    auto lights = record(1, 4095, true);
    const Samples out = samples_in(calibration.apply(lights.next().value()));
    const double mean = sensor.mean_response();
    double chi2 = 0;
    int count = 0;
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        if (sensor.dark(x, y) > 1000) continue;
        const double response = sensor.response(x, y);
        const double truth = scene(x, y) * mean;
        const double rounding = 1.0 / 12;
        const double variance =
            std::pow(mean / response / 4095, 2) * (sigma * sigma * (1 + 1.0 / darks) + rounding) +
            std::pow(truth / (2000 * response) * sigma, 2) * (1.0 / flats + 1.0 / flat_darks);
        const auto i = static_cast<std::size_t>(std::ptrdiff_t{y} * kSize.width_px + x);
        chi2 += std::pow(light_of(out[i]) - truth, 2) / variance;
        ++count;
      }
    }
    // chi2 / n of n = 3011 is 1 +- sqrt(2/n) = 0.026; four of these.
    CHECK(std::abs(chi2 / count - 1) < 0.105);
  }

  TEST_CASE("each colour of a mosaic is normalised by its own mean, whatever the lamp's colour") {
    for (const Cfa cfa : {Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg}) {
      const Size size{32, 24};
      const CaptureInfo info = mosaic_info(size, 12, cfa);
      constexpr std::array<double, 3> kLamp = {500, 2000, 1000};
      const auto flat = samples_of(size, [&](int x, int y) {
        return kLamp[static_cast<std::size_t>(capture::cfa_colour_at(cfa, x, y))];
      });
      const auto light = samples_of(size, [](int, int) { return 1200; });
      const Calibration calibration(info, with(std::nullopt, master_of(info, flat)));
      CHECK_FALSE(has_note(calibration.notes(), "cold pixels"));
      // An even flat of any colour changes nothing: 4096 + 40000 * 1200 / 4095 = 15817.58.
      CHECK(calibrate_one(calibration, info, light) == Samples(std::size_t{32} * 24, 15818));
    }
  }

  TEST_CASE("a mono picture as flat of a mosaic is normalised by the capture's colours") {
    const Size size{8, 8};
    const CaptureInfo info = mosaic_info(size, 12, Cfa::rggb);
    const auto flat =
        samples_of(size, [](int x, int y) { return x % 2 == 0 && y % 2 == 0 ? 500 : 1500; });
    const Calibration calibration(info, with(std::nullopt, master_of(mono_info(size, 12), flat)));
    CHECK(calibrate_one(calibration, info, Samples(64, 1200)) == Samples(64, 15818));
  }

  TEST_CASE("planes of colour have tables of their own") {
    const Size size{6, 5};
    const CaptureInfo info = rgb_info(size, 8);
    const auto planes = [](std::uint16_t r, std::uint16_t g, std::uint16_t b) {
      Samples samples;
      for (const auto level : {r, g, b}) samples.insert(samples.end(), 30, level);
      return samples;
    };
    const Calibration calibration(
        info, with(master_of(info, planes(10, 20, 30)), master_of(info, planes(110, 200, 90))));
    const Samples out = calibrate_one(calibration, info, planes(61, 71, 81));
    // 51 of 255 in each: 4096 + 40000 / 5.
    CHECK(out == Samples(90, 12096));
  }

  TEST_CASE("hot pixels of a mosaic are repaired from their own colour") {
    const Size size{20, 20};
    const CaptureInfo info = mosaic_info(size, 12, Cfa::grbg);
    const auto colours = [](int x, int y) {
      return 400.0 * (1 + capture::cfa_colour_at(Cfa::grbg, x, y));
    };
    auto dark = samples_of(size, [](int, int) { return 50; });
    auto light = samples_of(size, [&](int x, int y) { return 50 + colours(x, y); });
    const Samples clean = light;
    for (const std::size_t i : {45U, 46U, 190U, 399U}) {
      dark[i] = 2000;
      light[i] = 4095;
    }
    const Calibration calibration(info, with(master_of(info, dark), std::nullopt));
    CHECK(has_note(calibration.notes(), "4 hot pixels"));
    const Calibration plain(info, with(master_of(info, Samples(400, 50)), std::nullopt));
    CHECK(calibrate_one(calibration, info, light) == calibrate_one(plain, info, clean));
  }

  // 2% of 4095 levels are 82: common practice, no source. The dark is quiet.
  TEST_CASE("a pixel 5% of full scale over a quiet dark is repaired, one 1.5% over is not") {
    const Size size{20, 20};
    const CaptureInfo info = mono_info(size, 12);
    Samples dark(400, 50);
    dark[190] = 50 + 205;
    dark[45] = 50 + 61;
    const Calibration calibration(info, with(master_of(info, dark), std::nullopt));
    CHECK(has_note(calibration.notes(), "1 hot pixels"));
    Samples light(400, 1050);
    light[190] = 3000;
    light[45] = 3000;
    const Samples out = calibrate_one(calibration, info, light);
    CHECK(out[190] == out[200]);
    CHECK(out[45] != out[200]);
  }

  TEST_CASE("from a flat that is free of its dark no dark is subtracted again") {
    const Size size{4, 1};
    const CaptureInfo info = mono_info(size, 12);
    auto flat = master_of(info, {1000, 2000, 1500, 1500});
    flat.dark_subtracted = true;
    const Calibration calibration(info, with(master_of(info, Samples(4, 100)), std::move(flat)));
    // Mean of the flat 1500; light - dark 1000 2000 800 800 -> 1500 1500 800 800 of 4095, as in
    // 'four pixels worked by hand'.
    CHECK(calibrate_one(calibration, info, {1100, 2100, 900, 900}) ==
          Samples{18748, 18748, 11910, 11910});
  }

  TEST_CASE("cold and unlit pixels of the flat are repaired; a large unlit area is black") {
    const Size size{40, 30};
    const CaptureInfo info = mono_info(size, 12);
    auto flat = samples_of(size, [](int x, int y) { return x < 12 && y < 12 ? 3 : 2000; });
    flat[static_cast<std::size_t>(20 * 40 + 20)] = 900;
    const Calibration calibration(info, with(std::nullopt, master_of(info, flat)));
    CHECK(has_note(calibration.notes(), "145 cold pixels"));
    CHECK(has_note(calibration.notes(), "no good pixel"));
    const Samples out = calibrate_one(calibration, info, Samples(1200, 1000));
    CHECK(out[20 * 40 + 20] == out[20 * 40 + 25]);
    CHECK(out[0] == 4096);
  }

  TEST_CASE("the substitute for a missing flat dark is reported") {
    const Size size{4, 4};
    const CaptureInfo info = mono_info(size, 12);
    const auto level = [&](std::uint16_t value) { return master_of(info, Samples(16, value)); };
    auto flat = Samples(16, 1100);
    flat[0] = 2100;
    // Dark 100: signals 1000 and 2000; gains 1062.5 / 1000 and 1062.5 / 2000.
    const Calibration dark(info, with(level(100), master_of(info, flat)));
    CHECK(has_note(dark.notes(), "the dark is subtracted from the flat"));
    const Samples out = calibrate_one(dark, info, Samples(16, 1100));
    CHECK(out[0] == 9285);   // 4096 + 40000 * 1000 * 0.53125 / 4095 = 9285.23
    CHECK(out[1] == 14475);  // 4096 + 40000 * 1000 * 1.0625 / 4095 = 14474.51
    const Calibration none(info, with(std::nullopt, master_of(info, flat)));
    CHECK(has_note(none.notes(), "only the black level"));
    const Calibration all(info, with(level(100), master_of(info, flat), level(100)));
    CHECK(!has_note(all.notes(), "no flat dark"));
  }

  TEST_CASE("doubtful masters are named, impossible ones refused") {
    const Size size{8, 8};
    const CaptureInfo info = mono_info(size, 12);
    const auto level = [&](std::uint16_t value) { return master_of(info, Samples(64, value)); };
    CHECK(has_note(Calibration(info, with(std::nullopt, level(200))).notes(), "dim"));
    CHECK(has_note(Calibration(info, with(std::nullopt, level(4095))).notes(), "saturated"));
    CHECK(has_note(Calibration(info, with(level(2000), std::nullopt)).notes(), "covered"));
    CHECK(Calibration(info, with(level(60), level(2000), level(60))).notes().empty());
    CHECK_THROWS_AS(Calibration(info, with(level(500), level(400))), InputError);
    CHECK_THROWS_AS(Calibration(info, with(std::nullopt, std::nullopt, level(400))), UsageError);
    CHECK_THROWS_AS(Calibration(mono_info({9, 8}, 12), with(level(60), std::nullopt)), InputError);
    CHECK_THROWS_AS(Calibration(mosaic_info(size, 12, Cfa::rggb),
                                with(std::nullopt, master_of(mosaic_info(size, 12, Cfa::bggr),
                                                             Samples(64, 900)))),
                    InputError);
    CHECK_THROWS_AS(Calibration(mono_info(size, 8), with(level(60), std::nullopt)), InputError);
  }

  TEST_CASE("every instruction set gives the same bytes") {
    std::mt19937 random(8);
    std::uniform_int_distribution<int> any(0, 4095);
    const CaptureInfo info = mono_info(kSize, 12);
    const auto noise = samples_of(kSize, [&](int, int) { return any(random); });
    const auto flat = samples_of(kSize, [&](int, int) { return 1500 + any(random) / 8; });
    const auto dark = samples_of(kSize, [&](int, int) { return any(random) / 16; });
    const Calibration calibration(info, with(master_of(info, dark), master_of(info, flat)));
    const CpuLevel best = cpu_level();
    set_cpu_level(CpuLevel::baseline);
    const Samples expected = calibrate_one(calibration, info, noise);
    for (const CpuLevel level : {CpuLevel::avx2, CpuLevel::avx512}) {
      if (level > best) continue;
      set_cpu_level(level);
      CHECK(calibrate_one(calibration, info, noise) == expected);
    }
    set_cpu_level(best);
  }
}
