#include "calibrate/pattern_noise.h"

#include <doctest/doctest.h>

#include <cmath>
#include <functional>
#include <random>

#include "calibrate/calibration.h"
#include "support/frames.h"
#include "support/memory_capture.h"
#include "support/text.h"

// Truth: what the test drew. Uniform scenes and bounds are the test's own, no source.

using namespace lull;
using calibrate::PatternNoise;
using test::MemoryCapture;
using test::Samples;

TEST_SUITE("calibrate/pattern_noise") {
  namespace {

  constexpr Size kSize{160, 144};
  constexpr double kNoise = 6;  // of a pixel of a frame

  std::vector<double> drawn(int count, double sigma, unsigned seed) {
    std::mt19937 random(seed);
    std::normal_distribution<double> normal(0, sigma);
    std::vector<double> out(static_cast<std::size_t>(count));
    for (double& value : out) value = sigma > 0 ? normal(random) : 0;
    return out;
  }

  struct Sensor {
    std::vector<double> columns = drawn(kSize.width_px, 0, 0);
    std::vector<double> rows = drawn(kSize.height_px, 0, 0);
    double flicker = 0;  // of the rows, anew in each frame
  };

  /// Light at a place of a frame.
  using Scene = std::function<double(double x, double y, int frame)>;

  std::vector<Samples> recorded(const Sensor& sensor, const Scene& scene, int frames = 48) {
    std::mt19937 random(5);
    std::normal_distribution<double> normal(0, 1);
    std::vector<Samples> out;
    for (int i = 0; i < frames; ++i) {
      std::vector<double> rows = sensor.rows;
      for (double& row : rows) row += sensor.flicker * normal(random);
      out.push_back(test::samples_of(kSize, [&](int x, int y) {
        return scene(x, y, i) + sensor.columns[static_cast<std::size_t>(x)] +
               rows[static_cast<std::size_t>(y)] + kNoise * normal(random);
      }));
    }
    return out;
  }

  // Ground with detail of 5 px and coarser that wanders by some pixels.
  double ground(double x, double y, int frame) {
    const double u = x + 3 * std::sin(1.3 * frame);
    const double v = y + 3 * std::cos(0.9 * frame);
    return 900 + 200 * std::sin(u / 19) * std::cos(v / 23) + 60 * std::sin(u / 3.1 + v / 4.3) +
           40 * std::cos(u / 2.1) * std::sin(v / 1.7);
  }

  // A belted globe whose belts lie along the rows and hardly move.
  double globe(double x, double y, int frame) {
    const double u = x - 80 + 0.6 * std::sin(1.3 * frame);
    const double v = y - 70 + 0.6 * std::cos(0.9 * frame);
    const double inside = 1 / (1 + std::exp((std::hypot(u, v) - 55) / 1.5));
    return 60 + inside * (1500 + 400 * std::sin(v / 2.2) + 200 * std::sin(v / 7));
  }

  // Sky over ground: an edge along the rows, from one end of the frame to the other.
  double edge(double /*x*/, double y, int frame) {
    return 100 + 2000 / (1 + std::exp((71.5 - y + std::sin(1.3 * frame)) / 1.2));
  }

  PatternNoise measured(const capture::CaptureInfo& info, const std::vector<Samples>& frames) {
    MemoryCapture capture(info, frames);
    return calibrate::measure_pattern(info, calibrate::sensor_sum(capture, {}));
  }

  double rms(const std::vector<double>& values) {
    double sum = 0;
    for (const double v : values) sum += v * v;
    return std::sqrt(sum / static_cast<double>(values.size()));
  }

  // Residual in the frames, finer than 11 lines of a colour. Coarser offsets cannot be separated
  // from the scene and do not show as lines.
  double left_over(const std::vector<double>& truth, const std::vector<float>& found, int step) {
    std::vector<double> left;
    const int count = static_cast<int>(truth.size());
    for (int i = 6 * step; i < count - 6 * step; ++i) {
      double mean = 0;
      const auto miss = [&](int k) {
        return truth[static_cast<std::size_t>(k)] -
               static_cast<double>(found[static_cast<std::size_t>(k)]);
      };
      for (int k = -5; k <= 5; ++k) mean += miss(i + k * step) / 11;
      left.push_back(miss(i) - mean);
    }
    return rms(left);
  }

  }  // namespace

  TEST_CASE("columns and rows are found under a scene that wanders, on a mosaic too") {
    Sensor sensor;
    sensor.columns = drawn(kSize.width_px, 2, 1);
    sensor.rows = drawn(kSize.height_px, 1.5, 2);
    for (const bool mosaic : {false, true}) {
      CAPTURE(mosaic);
      const auto info =
          mosaic ? test::mosaic_info(kSize, 12, capture::Cfa::rggb) : test::mono_info(kSize, 12);
      const Scene scene = [mosaic](double x, double y, int frame) {
        const bool green = (static_cast<int>(x) + static_cast<int>(y)) % 2 != 0;
        return ground(x, y, frame) * (!mosaic || green ? 1 : 0.6);
      };
      const PatternNoise found = measured(info, recorded(sensor, scene));
      REQUIRE(found.planes.size() == 1);
      REQUIRE(found.planes[0].columns.significant());
      REQUIRE(found.planes[0].rows.significant());
      CHECK(found.columns_rms_adu() == doctest::Approx(rms(sensor.columns)).epsilon(0.15));
      CHECK(found.rows_rms_adu() == doctest::Approx(rms(sensor.rows)).epsilon(0.15));
      const int step = mosaic ? 2 : 1;
      const double columns_left =
          left_over(sensor.columns, found.planes[0].columns.offset, step) / rms(sensor.columns);
      const double rows_left =
          left_over(sensor.rows, found.planes[0].rows.offset, step) / rms(sensor.rows);
      MESSAGE("left of columns " << columns_left << ", of rows " << rows_left);
      // Lines of one colour are twice as far apart on a mosaic, so more of them may be the scene.
      CHECK(columns_left < (mosaic ? 0.65 : 0.35));
      CHECK(rows_left < 0.35);
    }
  }

  TEST_CASE("nothing is found where nothing is") {
    for (const Scene& scene : {Scene(ground), Scene(globe), Scene(edge)}) {
      const PatternNoise found = measured(test::mono_info(kSize, 12), recorded({}, scene));
      CHECK_FALSE(found.significant());
    }
  }

  TEST_CASE("rows that change from frame to frame are no pattern") {
    Sensor sensor;
    sensor.flicker = 8;
    CHECK_FALSE(measured(test::mono_info(kSize, 12), recorded(sensor, ground)).significant());
  }

  TEST_CASE("belts along the rows are not taken for a pattern where there is one too") {
    Sensor sensor;
    sensor.rows = drawn(kSize.height_px, 3, 2);
    const PatternNoise found = measured(test::mono_info(kSize, 12), recorded(sensor, globe));
    REQUIRE(found.planes[0].rows.significant());
    std::vector<double> offset(found.planes[0].rows.offset.begin(),
                               found.planes[0].rows.offset.end());
    // The belts differ by 280 units rms.
    CHECK(rms(offset) < 1.3 * rms(sensor.rows));
    CHECK(left_over(sensor.rows, found.planes[0].rows.offset, 1) < 0.7 * rms(sensor.rows));
  }

  TEST_CASE("each plane of RGB has its own") {
    Sensor sensor;
    sensor.columns = drawn(kSize.width_px, 2, 1);
    const auto frames = recorded(sensor, ground);
    const auto plain = recorded({}, ground);
    std::vector<Samples> planes;
    for (std::size_t i = 0; i < frames.size(); ++i) {
      Samples all = plain[i];
      all.insert(all.end(), frames[i].begin(), frames[i].end());
      all.insert(all.end(), plain[i].begin(), plain[i].end());
      planes.push_back(std::move(all));
    }
    const PatternNoise found = measured(test::rgb_info(kSize, 12), planes);
    REQUIRE(found.planes.size() == 3);
    CHECK_FALSE(found.planes[0].columns.significant());
    CHECK(found.planes[1].columns.significant());
    CHECK_FALSE(found.planes[2].columns.significant());
  }

  TEST_CASE("few frames, doubted mosaics and YUV are not measured") {
    Sensor sensor;
    sensor.columns = drawn(kSize.width_px, 4, 1);
    const auto frames = recorded(sensor, ground, 11);
    CHECK(measured(test::mono_info(kSize, 12), frames).planes.empty());
    auto doubted = test::mono_info(kSize, 12);
    doubted.cfa_doubtful = true;
    CHECK(measured(doubted, recorded(sensor, ground, 24)).planes.empty());
    auto yuv = test::mono_info(kSize, 12);
    yuv.colour = capture::Colour::yuv;
    CHECK(measured(yuv, recorded(sensor, ground, 24)).planes.empty());
  }

  TEST_CASE("rows and columns are added to the dark that is subtracted, with their sign") {
    PatternNoise pattern;
    pattern.planes.resize(1);
    pattern.planes[0].columns.offset = {1, -2, 3};
    pattern.planes[0].rows.offset = {10, -20};
    REQUIRE(pattern.planes[0].rows.significant());
    Plane dark(3, 2);
    dark.fill(100);
    pattern.add_to(dark.view(), 0);
    const float expected[2][3] = {{111, 108, 113}, {81, 78, 83}};
    for (int y = 0; y < 2; ++y)
      for (int x = 0; x < 3; ++x) CHECK(dark.row(y)[x] == expected[y][x]);
  }

  TEST_CASE("calibration takes the pattern off, and frames that were cut short stay known") {
    Sensor sensor;
    sensor.columns = drawn(kSize.width_px, 12, 1);
    const auto info = test::mono_info(kSize, 12);
    auto frames = recorded(sensor, [](double, double, int) { return 800.0; });
    for (int i = 100 * kSize.width_px; i < kSize.width_px * kSize.height_px; ++i)
      frames[3][static_cast<std::size_t>(i)] = 0;
    calibrate::Masters masters;
    masters.pattern = measured(info, frames);
    const calibrate::Calibration calibration(info, std::move(masters));
    CHECK(test::has_note(calibration.notes(), "pattern noise"));
    MemoryCapture capture(info, frames);
    const auto whole = calibration.apply(capture.at(2).value());
    const auto cut = calibration.apply(capture.at(3).value());
    CHECK(whole.dead_rows == 0);
    CHECK(cut.dead_rows == 44);
    // Of single pixels, the noise of 6 units; the columns' 12 would make it 13.4.
    const auto values = test::samples_in(whole);
    std::vector<double> levels;
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        levels.push_back(
            (values[static_cast<std::size_t>(std::ptrdiff_t{y} * kSize.width_px + x)] - 4096) *
                4095 / 40000.0 -
            800);
    }
    CHECK(rms(levels) < 8);
  }
}
