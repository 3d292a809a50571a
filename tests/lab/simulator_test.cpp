#include "lab/simulator.h"

#include <doctest/doctest.h>
#include <fitsio.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>

#include "capture/capture.h"
#include "core/parallel.h"
#include "lab/canvas.h"
#include "lab/presets.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using lull::lab::Parameters;
using lull::test::Run;
using lull::test::run_sim;
using lull::test::TemporaryFolder;

namespace {

Parameters small(const std::string& preset) {
  Parameters p = lull::lab::preset(preset).parameters;
  p.name = "small";
  p.width_px = 96;
  p.height_px = 80;
  p.frames = 6;
  p.calibration_frames = std::min(p.calibration_frames, 2);
  return p;
}

std::string bytes_of_file(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

std::vector<float> truth_picture(const std::string& path, int& width, int& height) {
  fitsfile* file = nullptr;
  int status = 0;
  long axes[3] = {1, 1, 1};
  fits_open_diskfile(&file, path.c_str(), READONLY, &status);
  fits_get_img_size(file, 3, axes, &status);
  width = static_cast<int>(axes[0]);
  height = static_cast<int>(axes[1]);
  std::vector<float> values(static_cast<std::size_t>(axes[0] * axes[1]));
  fits_read_img(file, TFLOAT, 1, static_cast<LONGLONG>(values.size()), nullptr, values.data(),
                nullptr, &status);
  fits_close_file(file, &status);
  REQUIRE(status == 0);
  return values;
}

}  // namespace

TEST_SUITE("lab/simulator") {
  TEST_CASE("the same seed gives the same bytes on any number of threads, another seed others") {
    const TemporaryFolder folder;
    const Parameters p = small("sun-limb-fair");
    std::vector<std::string> written;
    for (const int threads : {1, 2, 5}) {
      lull::set_thread_count(threads);
      const std::string place = folder.file(std::to_string(threads));
      lull::lab::simulate(p, place, {});
      std::string all;
      for (const char* name : {"small.mkv", "small.truth.fits", "small.frames.csv", "small.json",
                               "small_dark.mkv", "small_flat.mkv"}) {
        REQUIRE(std::filesystem::exists(place + "/" + name));
        all += bytes_of_file(place + "/" + name);
      }
      written.push_back(all);
    }
    lull::set_thread_count(0);
    CHECK(written[0] == written[1]);
    CHECK(written[0] == written[2]);
    Parameters other = p;
    other.seed = 2;
    lull::lab::simulate(other, folder.file("other"), {});
    CHECK(bytes_of_file(folder.file("other/small.mkv")) !=
          bytes_of_file(folder.file("1/small.mkv")));
  }

  TEST_CASE("without air, noise and wandering a frame is the truth") {
    const TemporaryFolder folder;
    Parameters p = small("moon-terminator-fair");
    p.air.d_over_r0 = 0;
    p.air.cloud_swing = 0;
    p.mount = {.drift_x_px_s = 0, .drift_y_px_s = 0, .periodic_px = 0, .shake_px = 0};
    p.camera.read_noise_e = 0;
    p.camera.column_noise_adu = 0;
    p.camera.dark_e_per_s = 0;
    p.camera.bits = 16;
    p.camera.offset_adu = 1000;
    p.camera.peak_electrons = 1e7;
    lull::lab::simulate(p, folder.path(), {});
    int width = 0;
    int height = 0;
    const auto truth = truth_picture(folder.file("small.truth.fits"), width, height);
    REQUIRE(width == 96);
    REQUIRE(height == 80);
    const auto capture = lull::capture::Capture::open(folder.file("small.mkv"));
    const auto frame = capture->next();
    REQUIRE(frame.ok());
    const double unit = 0.8 * 65535 - 1000;
    double worst = 0;
    for (int y = 0; y < height; ++y) {
      const auto* row = frame.value().planes[0].row<std::uint16_t>(y);
      for (int x = 0; x < width; ++x) {
        const double light = (row[x] - 1000.0) / unit;
        worst = std::max(
            worst,
            std::abs(light - static_cast<double>(
                                 truth[static_cast<std::size_t>(std::ptrdiff_t{y} * width + x)])));
      }
    }
    // Photon noise of 1e7 electrons is 3e-4; five times that.
    CHECK(worst < 1.6e-3);
  }

  TEST_CASE("frames of any rate are dated as they were exposed") {
    for (const double frames_per_s : {0.4, 2.5, 29.97, 150.0}) {
      CAPTURE(frames_per_s);
      const TemporaryFolder folder;
      Parameters p = small("moon-terminator-fair");
      p.camera.frames_per_s = frames_per_s;
      lull::lab::simulate(p, folder.path(), {});
      const auto capture = lull::capture::Capture::open(folder.file("small.mkv"));
      for (int i = 0; i < p.frames; ++i) {
        const auto frame = capture->next();
        REQUIRE(frame.ok());
        // Matroska counts milliseconds.
        CHECK(std::abs(frame.value().time_s - i / frames_per_s) < 0.0011);
      }
    }
  }

  TEST_CASE("detail at p is seen at p + shift + field(p)") {
    // A bump on a canvas, a field that stretches: the bump must appear at the place that the field
    // gives.
    const lull::lab::Canvas canvas{96, 80, 40, 1};
    lull::Plane splines(canvas.size());
    const double px = 50;
    const double py = 30;
    for (int y = 0; y < splines.height(); ++y) {
      for (int x = 0; x < splines.width(); ++x) {
        const double dx = canvas.to_frame(x) - px;
        const double dy = canvas.to_frame(y) - py;
        splines.row(y)[x] = static_cast<float>(std::exp(-(dx * dx + dy * dy) / 18));
      }
    }
    lull::lab::NodeField field(96, 80);
    for (int r = 0; r < field.rows; ++r) {
      for (int c = 0; c < field.columns; ++c) {
        const auto i = static_cast<std::size_t>(std::ptrdiff_t{r} * field.columns + c);
        field.x[i] = static_cast<float>(0.05 * lull::lab::NodeField::place(c));
        field.y[i] = static_cast<float>(-0.03 * lull::lab::NodeField::place(r));
      }
    }
    const lull::Plane frame = lull::lab::seen(splines, canvas, {4.25, -2.5}, field);
    double sum = 0;
    double mx = 0;
    double my = 0;
    for (int y = 0; y < 80; ++y) {
      for (int x = 0; x < 96; ++x) {
        const double v = static_cast<double>(frame.row(y)[x]);
        sum += v;
        mx += v * x;
        my += v * y;
      }
    }
    CHECK(std::abs(mx / sum - (px + 4.25 + 0.05 * px)) < 0.02);
    CHECK(std::abs(my / sum - (py - 2.5 - 0.03 * py)) < 0.02);
  }

  TEST_CASE("undersampled pixels see the mean of the light on them") {
    const TemporaryFolder folder;
    Parameters p = small("moon-close-fair");
    p.telescope.pixel_scale_arcsec *= 3;  // cutoff at twice Nyquist
    p.frames = 2;
    lull::lab::simulate(p, folder.path(), {});
    int width = 0;
    int height = 0;
    const auto truth = truth_picture(folder.file("small.truth.fits"), width, height);
    CHECK(width == 96);
    for (const float value : truth) CHECK(std::isfinite(value));
  }

  TEST_CASE("faults come as often as asked for, and are listed") {
    const TemporaryFolder folder;
    Parameters p = small("saturn-good");
    p.frames = 120;
    p.width_px = 64;
    p.height_px = 48;
    p.scene.radius_px = 10;
    p.faults = {0.1, 0.1, 0.1, 0.1};
    lull::lab::simulate(p, folder.path(), {});
    const std::string table = bytes_of_file(folder.file("small.frames.csv"));
    const auto count = [&table](const std::string& word) {
      int found = 0;
      for (auto at = table.find(word); at != std::string::npos; at = table.find(word, at + 1))
        ++found;
      return found;
    };
    for (const char* fault : {"doubled", "black", "cut short"}) {
      CAPTURE(fault);
      CHECK(count(fault) >= 3);  // binomial with a mean of 8 to 12: less than 1% chance
      CHECK(count(fault) <= 25);
    }
    const auto capture = lull::capture::Capture::open(folder.file("small.mkv"));
    int frames = 0;
    while (capture->next().ok()) ++frames;
    CHECK(frames == 120);
  }

  // r0 grows with the 6/5 power of the wavelength (Fried 1966), so D/r0 of 4 becomes 4 / 2^1.2 =
  // 1.741. A phase is a path over the wavelength.
  TEST_CASE("another filter changes the air and the phases of the glass") {
    lull::lab::Parameters p;
    p.telescope.wavelength_m = 500e-9;
    p.telescope.aberrations_rad = {0.6, 0.4};
    p.air.d_over_r0 = 4;
    p.change.wavelength_m = 1000e-9;
    p.change.defocus_rad = 0.2;
    const auto changed = p.changed();
    CHECK(changed.telescope.wavelength_m == 1000e-9);
    CHECK(changed.air.d_over_r0 == doctest::Approx(1.7411).epsilon(1e-4));
    CHECK(changed.telescope.aberrations_rad[0] == doctest::Approx(0.4));
    CHECK(changed.telescope.aberrations_rad[1] == doctest::Approx(0.2));
    p.change = {};
    CHECK(lull::lab::to_json(p.changed()) == lull::lab::to_json(p));
  }

  TEST_CASE("every preset passes its own checks and has a name of its own") {
    CHECK(lull::lab::presets().size() == 53);
    for (const auto& preset : lull::lab::presets()) {
      CAPTURE(preset.name);
      lull::lab::check(preset.parameters);
      CHECK(lull::lab::parameters_from(lull::lab::to_json(preset.parameters)).name == preset.name);
    }
  }

  TEST_CASE("impossible parameters are refused with the reason") {
    const auto message = [](const nlohmann::json& json) -> std::string {
      try {
        lull::lab::check(lull::lab::parameters_from(json));
      } catch (const lull::UsageError& error) {
        return error.what();
      }
      return {};
    };
    const auto has = [](const std::string& text, const char* part) {
      CAPTURE(text);
      return text.find(part) != std::string::npos;
    };
    CHECK(has(message({{"telescope", {{"aperture_m", -1}}}}), "aperture_m is -1"));
    CHECK(has(message({{"telescope", {{"pixel_scale_arcsec", 2.0}}}}), "undersamples the cutoff"));
    CHECK(has(message({{"telescope", {{"apertur_m", 1}}}}), "aperture_m"));
    CHECK(has(message({{"frames", "many"}}), "wrong type"));
    CHECK(has(message({{"frames", 0}}), "frames is 0"));
    CHECK(has(message({{"container", "avi"}, {"camera", {{"bits", 12}, {"stored_bits", 16}}}}),
              "8-bit"));
    CHECK(has(message({{"air", {{"layers", nlohmann::json::array()}}}}), "layers is empty"));
    CHECK(has(message({{"camera", {{"colour", "rgbg"}}}}), "rggb"));
    CHECK(has(message({{"mount", {{"rotation_deg_s", 1e9}}}}), "rotation_deg_s"));
    CHECK(message(nlohmann::json::object()).empty());
  }
}

TEST_SUITE("lab/lull-sim") {
  TEST_CASE("makes a capture by name, and the same again from what it wrote") {
    const TemporaryFolder folder;
    const Run first = run_sim(
        {"mars-fair", "-o", folder.file("a"), "--frames", "4", "--size", "64x48", "--quiet"});
    CAPTURE(first.errors);
    REQUIRE(first.status == 0);
    const Run again = run_sim({folder.file("a/mars-fair.json"), "-o", folder.file("b"), "--quiet"});
    CAPTURE(again.errors);
    REQUIRE(again.status == 0);
    CHECK(bytes_of_file(folder.file("a/mars-fair.mkv")) ==
          bytes_of_file(folder.file("b/mars-fair.mkv")));
  }

  TEST_CASE("a file of parameters is not written over by the run that reads it") {
    const TemporaryFolder folder;
    REQUIRE(
        run_sim({"mars-good", "-o", folder.path(), "--frames", "2", "--size", "64x64"}).status ==
        0);
    const std::string before = bytes_of_file(folder.file("mars-good.json"));
    const Run again =
        run_sim({folder.file("mars-good.json"), "-o", folder.path(), "--frames", "3"});
    CHECK(again.status == 2);
    CHECK(again.errors.find("--name") != std::string::npos);
    CHECK(bytes_of_file(folder.file("mars-good.json")) == before);
  }

  TEST_CASE("wrong usage is refused before any work") {
    const TemporaryFolder folder;
    CHECK(run_sim({"--list"}).output.find("moon-close-good") != std::string::npos);
    const Run unknown = run_sim({"moon-clse-good", "-o", folder.file("x")});
    CHECK(unknown.status == 2);
    CHECK(unknown.errors.find("moon-close-good") != std::string::npos);
    CHECK(run_sim({}).status == 2);
    CHECK(run_sim({"mars-good", "-o", folder.file("x"), "--size", "64"}).status == 2);
    CHECK(run_sim({"mars-good", "-o", folder.file("x"), "--frames", "-3"}).status == 2);
    std::ofstream(folder.file("bad.json")) << "{ no";
    CHECK(run_sim({folder.file("bad.json"), "-o", folder.file("x")}).status == 3);
    std::ofstream(folder.file("file")) << "in the way";
    CHECK(run_sim({"mars-good", "-o", folder.file("file"), "--frames", "2"}).status == 5);
  }

  TEST_CASE("an interrupted run leaves nothing half-written") {
    const TemporaryFolder folder;
    lull::test::RunOptions options;
    options.interrupt_after_ms = 2500;
    const Run run =
        run_sim({"moon-close-fair", "-o", folder.file("x"), "--frames", "100000"}, options);
    CHECK(run.status == 130);
    CHECK(std::filesystem::is_empty(folder.file("x")));
  }
}
