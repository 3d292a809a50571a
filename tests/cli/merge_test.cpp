// Covers: run/run_merge, run/merge_request, run/merge_outcome, run/merge_report, run/filter_stack
// Covers: cli/merge_text
#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"
#include "support/thirds.h"

TEST_SUITE("cli/merge") {
  namespace {

  using namespace lull::test;
  using nlohmann::json;

  std::vector<std::string> merge_of(const std::array<std::string, 3>& stacks,
                                    const std::string& output,
                                    const std::vector<std::string>& more = {}) {
    std::vector<std::string> words = {"merge",  "--red",   stacks[0], "--green", stacks[1],
                                      "--blue", stacks[2], "-o",      output};
    words.insert(words.end(), more.begin(), more.end());
    return words;
  }

  Run must_merge(const std::vector<std::string>& words) {
    Run run = run_lull(words);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return run;
  }

  // Where the judge finds a picture of the ground: its first pixel shows truth place -shift.
  json judged(const std::string& picture) {
    const Run run = run_judge({picture, sample("highland.truth.fits"), "--json"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return json::parse(run.output);
  }

  }  // namespace

  TEST_CASE("four files; places as the judge finds them; finish and the recipe repeat the bytes") {
    const TemporaryFolder folder;
    const json figures = json::parse(
        must_merge(merge_of(stacked_thirds(), folder.file("a.tif"), {"--json"})).output);
    CHECK(folder.names() ==
          std::vector<std::string>{"a.html", "a.linear.fits", "a.recipe.json", "a.tif"});
    const json& red = figures.at("parts").at("red");
    const json by_judge[2] = {judged(stacked_thirds()[0]), judged(stacked_thirds()[1])};
    const lull::Size size[2] = {lull::files::read_picture(stacked_thirds()[0]).picture.size(),
                                lull::files::read_picture(stacked_thirds()[1]).picture.size()};
    const int more[2] = {size[1].width_px - size[0].width_px,
                         size[1].height_px - size[0].height_px};
    // Both are bent by the air, so that one shift for all is known to that alone. How well places
    // agree is for merge/registration and the proofs.
    const auto bent_px = [](const json& figures_of_judge) {
      return figures_of_judge.at("after_removing_smooth_distortion")
          .at("distortion_rms_px")
          .get<double>();
    };
    const double known_to = std::hypot(bent_px(by_judge[0]), bent_px(by_judge[1]));
    REQUIRE(known_to < 0.8);
    for (std::size_t axis = 0; axis < 2; ++axis) {
      // The shift is that of the middles.
      const double expected = by_judge[0].at("shift_xy").at(axis).get<double>() -
                              by_judge[1].at("shift_xy").at(axis).get<double>() + 0.5 * more[axis];
      CHECK(std::abs(red.at("shift_px").at(axis).get<double>() - expected) < known_to);
    }
    CHECK(std::abs(red.at("turn_deg").get<double>()) < 0.3);
    CHECK(std::abs(red.at("scale").get<double>() - 1) < 0.01);
    CHECK(red.at("bent_rms_px").get<double>() > 0);
    CHECK(red.at("blur_gains").size() > 10);
    CHECK(figures.at("parts").at("green").at("blur_gains").empty());

    must_merge({"finish", folder.file("a.linear.fits"), "-o", folder.file("b.tif"), "--threads",
                "1", "--report", "none", "--quiet"});
    CHECK(read_file(folder / "a.tif") == read_file(folder / "b.tif"));
    must_merge({"merge", "--recipe", folder.file("a.recipe.json"), "-o", folder.file("c.tif"),
                "--threads", "1", "--report", "none", "--quiet"});
    CHECK(read_file(folder / "a.tif") == read_file(folder / "c.tif"));
    CHECK(read_file(folder / "a.linear.fits") == read_file(folder / "c.linear.fits"));
    // A stack in colour gives its colours, and a luminance the grid.
    const std::string rgb = folder.file("a.linear.fits");
    const Run told =
        must_merge({"merge", "--red", rgb, "--green", rgb, "--blue", rgb, "--luminance",
                    stacked_thirds()[0], "-o", folder.file("lrgb.tif"), "--report", "none"});
    CHECK(contains(told.output, "green: shift "));
    CHECK_FALSE(contains(told.output, "luminance: shift "));
    CHECK(contains(told.output, "resolution: "));
    CHECK(contains(told.output, "wrote " + folder.file("lrgb.linear.fits")));
  }

  TEST_CASE("what cannot be merged is refused, says what to do, and leaves nothing") {
    const TemporaryFolder folder;
    const auto& thirds = stacked_thirds();
    const std::string out = folder.file("out/a.tif");
    std::filesystem::create_directory(folder.file("out"));
    check_refused({"merge", "--red", thirds[0], "--green", thirds[1], "-o", out}, 2, "--blue");
    check_refused(merge_of({thirds[0], thirds[1], folder.file("none.fits")}, out), 3, "none.fits");
    check_refused(merge_of({thirds[0], thirds[1], sample("globe_frames/globe_001.png")}, out), 3,
                  "no half stacks");
    check_refused(merge_of(thirds, out, {"--field", "on"}), 2, "auto");
    check_refused(merge_of(thirds, thirds[1], {"--overwrite"}), 2, "input of the run");
    write_file(folder / "cut.fits", [&] {
      Bytes bytes = read_file(thirds[2]);
      bytes.resize(bytes.size() / 2);
      return bytes;
    }());
    check_refused(merge_of({thirds[0], thirds[1], folder.file("cut.fits")}, out), 3, "cut.fits");
    CHECK(std::filesystem::is_empty(folder.file("out")));
    must_merge(merge_of(thirds, out, {"--report", "none", "--quiet"}));
    check_refused(merge_of(thirds, out), 5, "exist already");
  }

  TEST_CASE("cancelled, it ends with status 130 and leaves nothing") {
    const TemporaryFolder folder;
    RunOptions soon;
    soon.interrupt_after_ms = 30;
    const Run run = run_lull(merge_of(stacked_thirds(), folder.file("a.tif")), soon);
    CHECK(run.status == 130);
    CHECK(folder.names().empty());
  }
}
