// Covers: run/exposure_times
#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>
#include <numeric>
#include <span>
#include <sstream>
#include <string>

#include "support/bytes.h"
#include "support/moving_disc.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull::test;
using nlohmann::json;

constexpr int kFrames = 12;
constexpr std::size_t kPixels = std::size_t{64} * 48;

/// SER of 12 frames, 0.25 s apart from 2022-09-28T22:13:20 on (638000000000000000 ticks of 100 ns:
/// Python's datetime). Layout: FFmpeg 5.1, libavformat/serdec.c; the trailer from memory.
std::string timed_capture(const TemporaryFolder& folder) {
  Bytes file = read_file(std::string(LULL_SAMPLES) + "/ringed_faint.ser");
  file.resize(178);
  put_integer(file, 26, 64);
  put_integer(file, 30, 48);
  put_integer(file, 38, kFrames);
  for (const Bytes& picture : pictures_8(kFrames, kPixels, 64))
    file.insert(file.end(), picture.begin(), picture.end());
  for (int i = 0; i < kFrames; ++i) {
    const std::int64_t ticks = 638'000'000'000'000'000 + std::int64_t{2'500'000} * i;
    const auto bytes = std::as_bytes(std::span(&ticks, 1));
    file.insert(file.end(), bytes.begin(), bytes.end());
  }
  write_file(folder.file("timed.ser"), file);
  return folder.file("timed.ser");
}

}  // namespace

TEST_SUITE("cli/time") {
  TEST_CASE("dates of a stack are those of its kept frames, as astropy reads them") {
    const TemporaryFolder folder;
    const std::string capture = timed_capture(folder);
    const Run run = run_lull({"stack", capture, "-o", folder.file("a.fits"), "--keep", "5",
                              "--finish", "none", "--quiet", "--json"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    const json figures = json::parse(run.output);
    const auto kept = figures["kept_frames"].get<std::vector<int>>();
    REQUIRE(kept.size() == 5);
    const double begin = 0.25 * *std::min_element(kept.begin(), kept.end());
    const double end = 0.25 * *std::max_element(kept.begin(), kept.end());
    const double mean = 0.25 * std::accumulate(kept.begin(), kept.end(), 0) / 5.0;

    std::ifstream text(folder.file("a.recipe.json"));
    const json recipe = json::parse(text);
    CHECK(recipe["figures"]["utc"] == figures["utc"]);
    CHECK(figures["utc"]["source"] == "time stamps of the frames");

    std::istringstream dates(
        reference_of("cli/fits_dates.py", {folder.file("a.fits"), "2022-09-28T22:13:20"}));
    double first = 0;
    double middle = 0;
    double last = 0;
    REQUIRE((dates >> first >> middle >> last));
    // Written to the microsecond, cut off.
    CHECK(first == doctest::Approx(begin).epsilon(2e-6));
    CHECK(middle == doctest::Approx(mean).epsilon(2e-6));
    CHECK(last == doctest::Approx(end).epsilon(2e-6));
  }

  TEST_CASE("the table has a column of UTC where it is known, and none where it is not") {
    const TemporaryFolder folder;
    const auto table = [&](const std::string& capture) {
      REQUIRE(run_lull({"rank", capture, "--csv", folder.file("r.csv"), "--quiet", "--overwrite"})
                  .status == 0);
      std::ifstream file(folder.file("r.csv"));
      std::vector<std::string> lines;
      for (std::string line; std::getline(file, line);) {
        while (!line.empty() && line.back() == '\r') line.pop_back();
        lines.push_back(line);
      }
      return lines;
    };
    const auto timed = table(timed_capture(folder));
    REQUIRE(timed.size() == kFrames + 1);
    CHECK(timed[0].ends_with(",flags,utc"));
    CHECK(timed[1].ends_with(",2022-09-28T22:13:20.000000Z"));
    CHECK(timed[6].ends_with(",2022-09-28T22:13:21.250000Z"));
    CHECK(table(std::string(LULL_SAMPLES) + "/ringed_faint.ser")[0].ends_with(",flags"));
  }
}
