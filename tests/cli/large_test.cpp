#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

TEST_SUITE("cli/large") {
  namespace {

  using namespace lull::test;
  using nlohmann::json;

  constexpr std::int64_t kWidth = 7680;
  constexpr std::int64_t kHeight = 4320;
  constexpr int kFrames = 24;  // six blocks of the survey, which takes 4 frames of this size
  constexpr int kSide = 256;

  /// A disc with detail in the middle of frames of 7680 x 4320 px, the rest a hole in the file.
  std::string large_capture(const TemporaryFolder& folder) {
    const std::string path = folder.file("large.ser");
    Bytes header = read_file(std::string(LULL_SAMPLES) + "/ringed_faint.ser");
    header.resize(178);
    put_integer(header, 26, kWidth);
    put_integer(header, 30, kHeight);
    put_integer(header, 38, kFrames);
    write_file(path, header);
    std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
    std::string row(kSide, '\0');
    for (int i = 0; i < kFrames; ++i) {
      for (int y = 0; y < kSide; ++y) {
        for (int x = 0; x < kSide; ++x) {
          const double edge = std::hypot(x - 128 - i % 3, y - 128) - 80;
          const double light = 200 / (1 + std::exp(edge / 2)) * (1 + 0.2 * std::sin(x / 5.0 + i));
          row[static_cast<std::size_t>(x)] = static_cast<char>(std::clamp(light, 0.0, 250.0));
        }
        file.seekp(178 + (i * kHeight + 2000 + y) * kWidth + 3000);
        file.write(row.data(), kSide);
      }
    }
    file.close();
    std::filesystem::resize_file(path, 178 + kFrames * kWidth * kHeight);
    return path;
  }

  }  // namespace

  // A frame is 33 MB, a plane of floats 133 MB. The bound is the test's own, no source: 690 MiB
  // were measured when it was written, and 1650 MiB with blocks of 32 frames.
  TEST_CASE("frames of 7680 x 4320 px are inspected and ranked in bounded memory") {
    const TemporaryFolder folder;
    const std::string path = large_capture(folder);
    for (const std::string verb : {"inspect", "rank"}) {
      CAPTURE(verb);
      const Run run =
          run_lull({verb, path, "--json", "--quiet", "--threads", "2", "--memory", "256M"});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      const json figures = json::parse(run.output);
      CHECK(figures["usable"] == kFrames);
      MESSAGE(verb << ": " << run.peak_kib / 1024 << " MiB");
      if (kOwnMemory) CHECK(run.peak_kib < 1'000'000);
    }
  }
}
