// Covers: run/run_master, run/master_outcome, run/master_file, cli/master_text
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <iterator>
#include <nlohmann/json.hpp>
#include <random>

#include "capture/capture.h"
#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

// `lull master`, and masters as --dark and --flat.

TEST_SUITE("cli/master") {
  namespace {

  using namespace lull::test;
  namespace fs = std::filesystem;

  constexpr double kGain = 0.8;  // e-/ADU
  constexpr double kReadNoise = 2.4;
  constexpr double kOffset = 12;
  const std::string kCapture = std::string(LULL_SAMPLES) + "/highland.mkv";

  /// What a camera with unequal pixels and dark corners records of an even light.
  void write_exposures(const std::string& path, double electrons, int frames, unsigned seed,
                       int width_px, int height_px, const std::string& pixel_format = "gray") {
    std::mt19937 random(seed);
    std::mt19937 fixed(5);
    std::normal_distribution<double> normal;
    std::vector<double> response;
    for (int y = 0; y < height_px; ++y) {
      for (int x = 0; x < width_px; ++x) {
        const double r = std::hypot(x - width_px / 2, y - height_px / 2) / (width_px + height_px);
        response.push_back((1 - 1.5 * r * r) * (1 + 0.02 * normal(fixed)));
      }
    }
    std::vector<std::vector<std::byte>> pictures;
    for (int i = 0; i < frames; ++i) {
      std::vector<std::uint8_t> samples;
      for (const double share : response) {
        const double mean = electrons * share;
        const double counted =
            mean > 0 ? static_cast<double>(std::poisson_distribution<int>(mean)(random)) : 0;
        const double adu = (counted + kReadNoise * normal(random)) / kGain + kOffset;
        samples.push_back(static_cast<std::uint8_t>(std::clamp(std::round(adu), 0.0, 255.0)));
      }
      pictures.push_back(bytes_of(samples));
    }
    VideoFormat format;
    format.pixel_format = pixel_format;
    format.width_px = width_px;
    format.height_px = height_px;
    write_video(path, format, pictures);
  }

  /// A dark and a flat that fit the sample capture.
  struct Calibrations {
    explicit Calibrations(const TemporaryFolder& folder)
        : dark(folder.file("dark.avi")), flat(folder.file("flat.avi")) {
      const auto size = lull::capture::Capture::open(kCapture)->info().size;
      write_exposures(dark, 0, 6, 1, size.width_px, size.height_px);
      write_exposures(flat, 120, 6, 2, size.width_px, size.height_px);
    }

    std::string dark;
    std::string flat;
  };

  int files_in(const TemporaryFolder& folder) {
    return static_cast<int>(
        std::distance(fs::directory_iterator(folder.path()), fs::directory_iterator()));
  }

  void check_refused(const TemporaryFolder& folder, std::vector<std::string> arguments, int status,
                     const std::vector<std::string>& words) {
    const int before = files_in(folder);
    arguments.emplace_back("--quiet");
    const Run run = run_lull(arguments);
    CAPTURE(run.errors);
    CHECK(run.status == status);
    for (const std::string& word : words) {
      CAPTURE(word);
      CHECK(run.errors.find(word) != std::string::npos);
    }
    CHECK(files_in(folder) == before);
  }

  void make_master(const std::vector<std::string>& arguments) {
    std::vector<std::string> all = {"master", "--quiet"};
    all.insert(all.end(), arguments.begin(), arguments.end());
    const Run run = run_lull(all);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
  }

  lull::files::PictureFile stacked(const TemporaryFolder& folder, const std::string& name,
                                   std::vector<std::string> calibration) {
    std::vector<std::string> arguments = {"stack", kCapture, "-o", folder.file(name), "--finish",
                                          "none",  "--keep", "12", "--quiet"};
    arguments.insert(arguments.end(), calibration.begin(), calibration.end());
    const Run run = run_lull(arguments);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return lull::files::read_picture(folder.file(name));
  }

  bool same_pixels(const lull::files::Picture& a, const lull::files::Picture& b) {
    if (a.size() != b.size()) return false;
    for (int y = 0; y < a.size().height_px; ++y) {
      const float* row = a.channels[0].row(y);
      if (!std::equal(row, row + a.size().width_px, b.channels[0].row(y))) return false;
    }
    return true;
  }

  }  // namespace

  // Truth: the gain that the frames were drawn with. Method: Janesick, Photon Transfer, SPIE Press
  // 2007 (from memory). 8 pairs of 30,000 samples: statistical error 0.3%.
  TEST_CASE("finds gain and read noise from flats and their dark within 3%") {
    const TemporaryFolder folder;
    write_exposures(folder.file("dark.avi"), 0, 16, 1, 200, 150);
    write_exposures(folder.file("flat.avi"), 120, 16, 2, 200, 150);
    make_master({folder.file("dark.avi"), "-o", folder.file("dark.fits"), "--kind", "dark"});
    for (const std::string dark : {"dark.avi", "dark.fits"}) {
      CAPTURE(dark);
      const Run run =
          run_lull({"master", folder.file("flat.avi"), "-o", folder.file("flat.fits"), "--kind",
                    "flat", "--flat-dark", folder.file(dark), "--json", "--quiet", "--overwrite"});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      const auto json = nlohmann::json::parse(run.output);
      CHECK(json["gain_e_per_adu"].get<double>() == doctest::Approx(kGain).epsilon(0.03));
      CHECK(json["read_noise_e"].get<double>() == doctest::Approx(kReadNoise).epsilon(0.03));
      CHECK(json["dark_subtracted"] == true);
      CHECK(json["frames"] == 16);
    }
  }

  // fitsverify is the conformance tool of HEASARC, after the FITS Standard 4.0.
  TEST_CASE("masters are FITS that fitsverify accepts") {
    const TemporaryFolder folder;
    write_exposures(folder.file("dark.avi"), 0, 4, 1, 64, 48);
    make_master({folder.file("dark.avi"), "-o", folder.file("dark.fits"), "--kind", "dark"});
    const Run verified = run_program({"fitsverify", "-q", folder.file("dark.fits")});
    CAPTURE(verified.text());
    CHECK(verified.status == 0);
  }

  TEST_CASE("a stack with masters is the stack with the captures, to the bit") {
    const TemporaryFolder folder;
    const Calibrations made(folder);
    const auto from_captures = stacked(
        folder, "a.fits", {"--dark", made.dark, "--flat", made.flat, "--flat-dark", made.dark});
    make_master({made.dark, "-o", folder.file("dark.fits"), "--kind", "dark"});
    make_master({made.flat, "-o", folder.file("flat.fits"), "--kind", "flat", "--flat-dark",
                 folder.file("dark.fits")});
    const auto from_masters = stacked(
        folder, "b.fits", {"--dark", folder.file("dark.fits"), "--flat", folder.file("flat.fits")});
    CHECK(same_pixels(from_captures.picture, from_masters.picture));
    const auto raw = stacked(folder, "c.fits", {});
    CHECK_FALSE(same_pixels(raw.picture, from_masters.picture));
  }

  TEST_CASE("several inputs and folders are combined") {
    const TemporaryFolder folder;
    fs::create_directory(folder.file("more"));
    write_exposures(folder.file("one.avi"), 0, 4, 1, 64, 48);
    write_exposures(folder.file("more/two.avi"), 0, 5, 2, 64, 48);
    write_exposures(folder.file("more/three.avi"), 0, 6, 3, 64, 48);
    const Run run = run_lull({"master", folder.file("one.avi"), folder.file("more"), "-o",
                              folder.file("m.fits"), "--kind", "dark", "--json", "--quiet"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    CHECK(nlohmann::json::parse(run.output)["frames"] == 15);
  }

  TEST_CASE("what makes no master is refused, and nothing is left") {
    const TemporaryFolder folder;
    write_exposures(folder.file("dark.avi"), 0, 4, 1, 64, 48);
    write_exposures(folder.file("flat.avi"), 120, 4, 2, 64, 48);
    write_exposures(folder.file("wide.avi"), 0, 4, 1, 72, 48);
    fs::create_directory(folder.file("empty"));
    const std::string out = folder.file("m.fits");
    const auto refused = [&](std::vector<std::string> arguments, int status,
                             const std::vector<std::string>& words) {
      arguments.insert(arguments.begin(), "master");
      check_refused(folder, arguments, status, words);
    };
    const std::string dark = folder.file("dark.avi");
    const std::string flat = folder.file("flat.avi");
    refused({dark, "-o", out, "--kind", "drak"}, 2, {"drak", "dark"});
    refused({dark, "-o", folder.file("m.tif"), "--kind", "dark"}, 2, {"m.tif", ".fits"});
    refused({dark, "-o", out, "--kind", "dark", "--flat-dark", dark}, 2, {"--flat-dark"});
    refused({folder.file("empty"), "-o", out, "--kind", "dark"}, 3,
            {"empty", "holds no picture and no capture"});
    refused({dark, folder.file("wide.avi"), "-o", out, "--kind", "dark"}, 3,
            {"wide.avi", "72 x 48", "64 x 48"});
    refused({flat, "-o", out, "--kind", "flat", "--flat-dark", folder.file("wide.avi")}, 3,
            {"wide.avi", "72 x 48", "64 x 48"});
    refused({dark, "-o", out, "--kind", "flat", "--flat-dark", flat}, 3,
            {"not brighter than its dark", "exchanged"});
    refused({folder.file("none.avi"), "-o", out, "--kind", "dark"}, 3, {"none.avi"});
    refused({dark, "-o", folder.file("nowhere/m.fits"), "--kind", "dark"}, 5, {"nowhere"});
  }

  TEST_CASE("a saturated flat, a dim flat and a bright dark are reported") {
    const TemporaryFolder folder;
    const auto notes_of = [&](double electrons, const std::string& kind) {
      write_exposures(folder.file("x.avi"), electrons, 4, 1, 64, 48);
      const Run run = run_lull({"master", folder.file("x.avi"), "-o", folder.file("x.fits"),
                                "--kind", kind, "--quiet", "--overwrite"});
      CHECK(run.status == 0);
      return run.output;
    };
    CHECK(notes_of(220, "flat").find("saturated") != std::string::npos);
    CHECK(notes_of(4, "flat").find("dim") != std::string::npos);
    CHECK(notes_of(120, "dark").find("Was the telescope covered?") != std::string::npos);
  }

  TEST_CASE("masters that do not fit the capture are refused with the reason") {
    const TemporaryFolder folder;
    const Calibrations made(folder);
    make_master({made.dark, "-o", folder.file("dark.fits"), "--kind", "dark"});
    make_master(
        {made.flat, "-o", folder.file("flat.fits"), "--kind", "flat", "--flat-dark", made.dark});
    write_exposures(folder.file("small.avi"), 0, 4, 1, 64, 48);
    make_master({folder.file("small.avi"), "-o", folder.file("small.fits"), "--kind", "dark"});
    const auto size = lull::capture::Capture::open(kCapture)->info().size;
    write_exposures(folder.file("mosaic.nut"), 0, 4, 1, size.width_px, size.height_px,
                    "bayer_rggb8");
    make_master({folder.file("mosaic.nut"), "-o", folder.file("mosaic.fits"), "--kind", "dark"});
    const auto refused = [&](std::vector<std::string> calibration, int status,
                             const std::vector<std::string>& words) {
      calibration.insert(calibration.begin(),
                         {"stack", kCapture, "-o", folder.file("out.tif"), "--finish", "none"});
      check_refused(folder, calibration, status, words);
    };
    refused({"--dark", folder.file("small.fits")}, 3, {"small.fits", "64 x 48"});
    refused({"--dark", folder.file("mosaic.fits")}, 3, {"mosaic.fits", "RGGB"});
    refused({"--dark", folder.file("flat.fits")}, 3, {"flat.fits", "is a flat"});
    refused({"--flat", folder.file("dark.fits")}, 3, {"dark.fits", "is a dark"});
    refused({"--flat", folder.file("flat.fits"), "--flat-dark", folder.file("dark.fits")}, 2,
            {"flat.fits", "a dark was already subtracted"});
    write_exposures(folder.file("bright.avi"), 180, 4, 1, size.width_px, size.height_px);
    refused({"--dark", folder.file("bright.avi")}, 3, {"bright.avi", "brighter than the capture"});
    Bytes cut = read_file(folder.file("dark.fits"));
    cut.resize(6000);
    write_file(folder.file("cut.fits"), cut);
    refused({"--dark", folder.file("cut.fits")}, 3, {"cut.fits"});
    Bytes odd = read_file(folder.file("dark.fits"));
    const auto card = find_text(odd, "TRUEBIT =");
    REQUIRE(card != SIZE_MAX);
    odd[card] = std::byte{'X'};
    write_file(folder.file("odd.fits"), odd);
    refused({"--dark", folder.file("odd.fits")}, 3, {"odd.fits", "TRUEBIT"});
  }
}
