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

  constexpr int kSide = 256;

  /// How large a capture is.
  struct Extent {
    std::int64_t width_px;
    std::int64_t height_px;
    int frames;
  };

  /// A disc with detail in the middle of the frames, the rest a hole in the file.
  std::string sparse_capture(const TemporaryFolder& folder, const Extent& extent) {
    std::string path = folder.file("large.ser");
    Bytes header = read_file(std::string(LULL_SAMPLES) + "/ringed_faint.ser");
    header.resize(178);
    put_integer(header, 26, static_cast<std::int32_t>(extent.width_px));
    put_integer(header, 30, static_cast<std::int32_t>(extent.height_px));
    put_integer(header, 38, extent.frames);
    write_file(path, header);
    std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
    std::string row(kSide, '\0');
    for (int i = 0; i < extent.frames; ++i) {
      for (int y = 0; y < kSide; ++y) {
        for (int x = 0; x < kSide; ++x) {
          const double edge = std::hypot(x - 128 - i % 3, y - 128) - 80;
          const double light = 200 / (1 + std::exp(edge / 2)) * (1 + 0.2 * std::sin(x / 5.0 + i));
          row[static_cast<std::size_t>(x)] = static_cast<char>(std::clamp(light, 0.0, 250.0));
        }
        const std::int64_t line = (extent.height_px - kSide) / 2 + y;
        file.seekp(178 + (i * extent.height_px + line) * extent.width_px +
                   (extent.width_px - kSide) / 2);
        file.write(row.data(), kSide);
      }
    }
    file.close();
    const auto bytes = 178 + extent.frames * extent.width_px * extent.height_px;
    std::filesystem::resize_file(path, static_cast<std::uintmax_t>(bytes));
    return path;
  }

  }  // namespace

  // A frame is 33 MB, a plane of floats 133 MB. The bound is the test's own, no source: 690 MiB
  // were measured when it was written, and 1650 MiB with blocks of 32 frames.
  TEST_CASE("frames of 7680 x 4320 px are inspected and ranked in bounded memory") {
    const TemporaryFolder folder;
    constexpr int kFrames = 24;  // six blocks of the survey, which takes 4 frames of this size
    const std::string path = sparse_capture(folder, {7680, 4320, kFrames});
    for (const std::string verb : {"inspect", "rank"}) {
      CAPTURE(verb);
      const Run run =
          run_lull({verb, path, "--json", "--quiet", "--threads", "2", "--memory", "1G"});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      const json figures = json::parse(run.output);
      CHECK(figures["usable"] == kFrames);
      MESSAGE(verb << ": " << run.peak_kib / 1024 << " MiB");
      if (kOwnMemory) CHECK(run.peak_kib < 1'000'000);
    }
  }

  // The bound is the project's own, no source: 98 MB were measured, for 10,000 frames too. The
  // frames are 491 MB, and with a cache of them the peak was 590.
  TEST_CASE("1,600 frames of 640 x 480 px are inspected and ranked in 400 MB by default") {
    const TemporaryFolder folder;
    constexpr int kFrames = 1600;
    const std::string path = sparse_capture(folder, {640, 480, kFrames});
    for (const std::string verb : {"inspect", "rank"}) {
      CAPTURE(verb);
      const Run run = run_lull({verb, path, "--json", "--quiet"});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      CHECK(json::parse(run.output)["usable"] == kFrames);
      MESSAGE(verb << ": " << run.peak_kib / 1024 << " MiB");
      if (kOwnMemory) CHECK(run.peak_kib < 400'000'000 / 1024);
    }
  }
}
