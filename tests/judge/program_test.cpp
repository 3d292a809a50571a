#include <doctest/doctest.h>
#include <fitsio.h>

#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "files/fits.h"
#include "files/picture_file.h"
#include "judge/support.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using test::highland_picture;
using test::picture_of;
using test::Run;
using test::run_judge;
using test::TemporaryFolder;

namespace {

const std::string kTruth = LULL_SAMPLES "/highland.truth.fits";

void check_refused(const std::vector<std::string>& arguments, int status, const std::string& word) {
  const Run ran = run_judge(arguments);
  CAPTURE(ran.text());
  CHECK(ran.status == status);
  CHECK(ran.text().rfind("lull-judge: ", 0) == 0);
  CHECK(ran.text().find(word) != std::string::npos);
}

/// The sample as a result, 32-bit float.
std::string write_result(const TemporaryFolder& folder) {
  std::string path = (folder / "result.fits").string();
  files::write_fits_float(path, picture_of({highland_picture()}).view(), {});
  return path;
}

/// A copy of the sample's truth with one card changed, or, without a value, removed.
std::string truth_with(const TemporaryFolder& folder, const char* key, const double* value) {
  std::string path = (folder / "other.truth.fits").string();
  std::filesystem::copy_file(kTruth, path, std::filesystem::copy_options::overwrite_existing);
  int status = 0;
  fitsfile* fits = nullptr;
  fits_open_diskfile(&fits, path.c_str(), READWRITE, &status);
  if (value == nullptr) {
    fits_delete_key(fits, key, &status);
  } else {
    double copy = *value;
    fits_update_key(fits, TDOUBLE, key, &copy, nullptr, &status);
  }
  fits_close_file(fits, &status);
  REQUIRE(status == 0);
  return path;
}

}  // namespace

TEST_SUITE("judge/program") {
  TEST_CASE("JSON has every figure, text the main ones") {
    const TemporaryFolder folder;
    const std::string result = write_result(folder);
    const Run ran = run_judge({result, kTruth, "--json"});
    REQUIRE(ran.status == 0);
    const auto json = nlohmann::json::parse(ran.text());
    for (const char* key :
         {"scale", "shift_xy", "coarse_ncc", "coverage", "psnr", "nrmse", "ssim", "frc_f50",
          "frc_auc", "psnr_best_radial", "gain", "offset", "frc_curve", "ringing", "seam",
          "edge_error", "inside_error", "after_removing_smooth_distortion"}) {
      CAPTURE(key);
      CHECK(json.contains(key));
    }
    for (const char* key :
         {"distortion_rms_px", "psnr", "ssim", "frc_f50", "frc_auc", "psnr_best_radial"}) {
      CAPTURE(key);
      CHECK(json["after_removing_smooth_distortion"].contains(key));
    }
    CHECK(json["frc_auc"].get<double>() > 0.999);
    const Run text = run_judge({result, kTruth, "--scale", "1.0"});
    CHECK(text.status == 0);
    CHECK(text.output.find("FRC area 1.000") != std::string::npos);
  }

  TEST_CASE("the picture shows truth, result and difference, the first two with one scale") {
    const TemporaryFolder folder;
    const std::string picture = (folder / "seen.png").string();
    const Run ran = run_judge({write_result(folder), kTruth, "--picture", picture});
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    CHECK(ran.text().find("difference x 1000") != std::string::npos);
    const auto file = files::read_picture(picture);
    CHECK(file.bits_per_sample == 8);
    const PlaneView seen = file.picture.channels.front().view();
    const int width = (seen.width_px - 2 * 4) / 3;
    REQUIRE(3 * width + 2 * 4 == seen.width_px);
    int differing = 0;
    int not_grey = 0;
    for (int y = 0; y < seen.height_px; ++y) {
      for (int x = 0; x < width; ++x) {
        differing += seen.at(x, y) != seen.at(x + width + 4, y) ? 1 : 0;
        not_grey += std::abs(seen.at(x + 2 * (width + 4), y) * 255.0F - 127.5F) > 1 ? 1 : 0;
      }
    }
    CHECK(differing == 0);
    CHECK(not_grey == 0);
  }

  TEST_CASE("an invalid truth ends with status 3 and a message on what is missing") {
    const TemporaryFolder folder;
    const std::string result = write_result(folder);
    check_refused({result, (folder / "missing.fits").string()}, 3, "missing.fits");
    check_refused({result, folder.path()}, 3, "it is a folder");
    check_refused({result, result}, 3, "CUTOFF");
    for (const char* key : {"CUTOFF", "EXT", "BOXY0", "BOXX1", "LAM0"}) {
      check_refused({result, truth_with(folder, key, nullptr)}, 3, key);
    }
    const double negative = -1;
    const double huge = 1e9;
    check_refused({result, truth_with(folder, "CUTOFF", &negative)}, 3, "CUTOFF");
    check_refused({result, truth_with(folder, "EXT", &huge)}, 3, "EXT");
    const double far = 400;
    check_refused({result, truth_with(folder, "BOXX1", &far)}, 3, "box");
    const std::string cut = (folder / "cut.fits").string();
    std::filesystem::copy_file(kTruth, cut);
    std::filesystem::resize_file(cut, 400'000);
    check_refused({result, cut}, 3, "cut.fits");
  }

  TEST_CASE("a result that cannot be judged ends with status 3") {
    const TemporaryFolder folder;
    check_refused({(folder / "missing.tif").string(), kTruth}, 3, "missing.tif");
    check_refused({LULL_SAMPLES "/ringed_faint.ser", kTruth}, 3, "ringed_faint.ser");
    const std::string other = (folder / "other.fits").string();
    files::write_fits_float(other, picture_of({test::noise({300, 200}, 1, 81)}).view(), {});
    check_refused({other, kTruth}, 3, "does not show");
    check_refused({write_result(folder), kTruth, "--scale", "3"}, 3, "does not show");
  }

  TEST_CASE("wrong options end with status 2, before any work") {
    const TemporaryFolder folder;
    const std::string result = write_result(folder);
    check_refused({}, 2, "RESULT");
    check_refused({result}, 2, "TRUTH");
    for (const char* scale : {"4", "0.9", "nan", "2x", ""})
      check_refused({result, kTruth, "--scale", scale}, 2, "--scale");
    check_refused({result, kTruth, "--picture", "x.jpg"}, 2, ".png");
    check_refused({result, kTruth, "--loud"}, 2, "--loud");
    check_refused({result, kTruth, "more"}, 2, "more");
    const std::string same = (folder / "same.png").string();
    std::filesystem::copy_file(result, same);
    check_refused({same, kTruth, "--picture", same}, 2, "input");
    check_refused({result, kTruth, "--picture", (folder / "no/such.png").string()}, 5, "such.png");
  }
}
