// Covers: run/opening, capture/open_options
#include <doctest/doctest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "support/bytes.h"
#include "support/moving_disc.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"
#include "support/video_writer.h"

namespace {

using namespace lull::test;
using nlohmann::json;

json inspected(std::vector<std::string> arguments) {
  arguments.insert(arguments.begin(), "inspect");
  arguments.insert(arguments.end(), {"--json", "--quiet"});
  const Run run = run_lull(arguments);
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
  return json::parse(run.output);
}

}  // namespace

TEST_SUITE("cli/reading") {
  TEST_CASE("16-bit gray in AVI: refused with the way out, which works") {
    const TemporaryFolder folder;
    const std::string path = folder.file("deep.avi");
    write_video(path, {.pixel_format = "gray16le"},
                pictures_16(6, std::size_t{64} * 48, 64, 12, 0));
    const Run refused = run_lull({"inspect", path});
    CHECK(refused.status == 3);
    CHECK(contains(refused.errors, "--pixel-format gray16le"));
    const json info = inspected({path, "--pixel-format", "gray16le"});
    CHECK(info["true_bits"] == 12);
    CHECK(info["frames"] == 6);
  }

  TEST_CASE("--cfa makes a mosaic of mono and mono of a mosaic, in either case of letters") {
    CHECK(inspected({sample("highland.mkv"), "--cfa", "grbg"})["cfa"] == "GRBG");
    CHECK(inspected({sample("belts_mosaic.nut"), "--cfa", "none"})["colour"] == "mono");
  }

  TEST_CASE("values that do not exist, and choices that make no sense, are wrong usage") {
    const auto refused = [](const std::vector<std::string>& words, const std::string& part) {
      std::vector<std::string> arguments = {"rank", sample("highland.mkv")};
      arguments.insert(arguments.end(), words.begin(), words.end());
      const Run run = run_lull(arguments);
      CAPTURE(run.errors);
      CHECK(run.status == 2);
      CHECK(contains(run.errors, part));
    };
    refused({"--cfa", "RGBG"}, "RGGB");
    refused({"--byte-order", "bigger"}, "little, big");
    refused({"--byte-order", "big"}, "coded");
    refused({"--pixel-format", "gray61le"}, "Did you mean gray16le?");
    refused({"--pixel-format", "gray"}, "ffv1");
    refused({"--pixel-format", "gray16be", "--byte-order", "big"}, "its own byte order");
  }

  TEST_CASE("the recipe keeps how the capture was read, and repeats it; older ones still work") {
    const TemporaryFolder folder;
    const std::string path = folder.file("deep.avi");
    write_video(path, {.pixel_format = "gray16le"},
                pictures_16(6, std::size_t{64} * 48, 64, 12, 0));
    const auto stack = [&](std::vector<std::string> arguments) {
      arguments.insert(arguments.begin(), "stack");
      arguments.insert(arguments.end(), {"--quiet"});
      const Run run = run_lull(arguments);
      CAPTURE(run.errors);
      CHECK(run.status == 0);
    };
    stack({path, "-o", folder.file("a.tif"), "--pixel-format", "gray16le", "--cfa", "BGGR"});
    const std::string recipe = folder.file("a.recipe.json");
    std::ifstream text(recipe);
    json kept = json::parse(text);
    CHECK(kept["options"]["pixel_format"] == "gray16le");
    CHECK(kept["options"]["cfa"] == "BGGR");
    stack({"--recipe", recipe, "-o", folder.file("b.tif")});
    CHECK(read_file(folder.file("a.tif")) == read_file(folder.file("b.tif")));
    kept["options"].erase("cfa");
    kept["options"].erase("byte_order");
    std::ofstream(folder.file("old.json")) << kept;
    stack({"--recipe", folder.file("old.json"), "-o", folder.file("c.tif")});
  }
}
