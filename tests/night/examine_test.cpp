// Covers: night/night
#include "night/examine.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "night/night.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::night;
using lull::test::sample;
using lull::test::TemporaryFolder;
using lull::test::write_cut_ser;
namespace fs = std::filesystem;

TEST_SUITE("night/examine") {
  namespace {

  // Frames of one level, with a bright square or none.
  void write_capture(const std::string& path, std::uint8_t level, bool square) {
    fs::create_directories(fs::path(path).parent_path());
    std::vector<std::vector<std::byte>> frames;
    for (int i = 0; i < 4; ++i) {
      std::vector<std::byte> frame(64 * 64, std::byte{level});
      frame[static_cast<std::size_t>(i)] = std::byte{static_cast<unsigned char>(level + 1)};
      for (int y = 20; square && y < 40; ++y) {
        for (int x = 20; x < 40; ++x) frame[static_cast<std::size_t>(y * 64 + x)] = std::byte{200};
      }
      frames.push_back(std::move(frame));
    }
    test::VideoFormat format;
    format.pixel_format = "gray";
    format.width_px = 64;
    format.height_px = 64;
    test::write_video(path, format, frames);
  }

  }  // namespace

  TEST_CASE("frames without light are a dark where no name says otherwise") {
    const TemporaryFolder folder;
    write_capture(folder.file("in/one.mkv"), 3, false);
    write_capture(folder.file("in/planet.mkv"), 3, true);
    write_capture(folder.file("in/even.mkv"), 90, false);
    write_capture(folder.file("in/mars.mkv"), 4, false);
    CHECK(shows_no_light(folder.file("in/one.mkv")));
    CHECK_FALSE(shows_no_light(folder.file("in/planet.mkv")));
    CHECK_FALSE(shows_no_light(folder.file("in/even.mkv")));
    const Examined found = examine(folder.file("in"), "", {}, {});
    REQUIRE(found.captures.size() == 4);
    for (const Facts& facts : found.captures) {
      CAPTURE(facts.name);
      CHECK(facts.problem.empty());
      CHECK((facts.kind == Kind::dark) == (facts.name == "one.mkv"));
      CHECK(facts.size == Size{64, 64});
      CHECK(facts.need_bytes > 0);
    }
  }

  TEST_CASE("what may be a copy is not opened again, and has a name of its own") {
    const TemporaryFolder folder;
    write_capture(folder.file("in/mars_a.mkv"), 3, true);
    fs::copy_file(folder.file("in/mars_a.mkv"), folder.file("in/mars_R_b.mkv"));
    // More than is read for a plan, and nothing in it.
    for (const char* name : {"in/mars_a.mkv", "in/mars_R_b.mkv"})
      fs::resize_file(folder / name, 400'000'000);
    const Examined found = examine(folder.file("in"), "", {}, {});
    REQUIRE(found.captures.size() == 2);
    const Facts& copy = found.captures[1];
    CHECK(copy.copy_of == found.captures[0].found.path);
    CHECK(copy.name != found.captures[0].name);
    CHECK(copy.size == Size{64, 64});
    CHECK(copy.frames == found.captures[0].frames);
    CHECK(found.left_out.empty());
  }

  TEST_CASE("a plan changes nothing, and tells what it cannot read") {
    const TemporaryFolder folder;
    write_capture(folder.file("in/planet.mkv"), 3, true);
    write_cut_ser(folder.file("in/cut.ser"));
    fs::copy_file(folder.file("in/planet.mkv"), folder.file("in/twin.mkv"));
    NightRequest request;
    request.place = folder.file("in");
    request.results = folder.file("out");
    request.action = Action::plan;
    const NightOutcome outcome = run_plan(request, {}, {});
    CHECK(outcome.plan.pictures.size() == 1);
    CHECK(outcome.left_out.size() == 2);
    CHECK(outcome.problems() == 1);
    CHECK_FALSE(fs::exists(folder / "out"));
    request.place = folder.file("nowhere");
    CHECK_THROWS_AS(static_cast<void>(run_plan(request, {}, {})), InputError);
  }

  TEST_CASE("darks of the profile's folders count beside those of the night") {
    const TemporaryFolder folder;
    write_capture(folder.file("in/planet.mkv"), 3, true);
    write_capture(folder.file("lib/a.mkv"), 3, false);
    profile::Profile profile;
    profile.darks = {folder.file("lib"), folder.file("not there")};
    const Examined found = examine(folder.file("in"), "", profile, {});
    REQUIRE(found.calibration.size() >= 1);
    CHECK(found.calibration[0].kind == Kind::dark);
    REQUIRE(found.left_out.size() == 1);
    CHECK(found.left_out[0].text().find("[calibration] of the profile names it") !=
          std::string::npos);
  }
}
