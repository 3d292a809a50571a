// Covers: run/run_mosaic, run/mosaic_request, run/mosaic_outcome, run/mosaic_header
// Covers: run/panel_input, run/mosaic_notes, run/mosaic_join, run/mosaic_report, cli/mosaic_text
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "files/fits_parts.h"
#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"

TEST_SUITE("cli/mosaic") {
  namespace {

  using namespace lull::test;
  using nlohmann::json;

  // Six panels of the lab's Moon, made once.
  const std::string& panels_folder() {
    static const TemporaryFolder folder;
    static const bool made = [] {
      const Run run = run_sim({"mosaic", "--columns", "3", "--rows", "2", "--panel", "320x240",
                               "--overlap", "35%", "-o", folder.path(), "--quiet"});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      return true;
    }();
    static const std::string path = made ? folder.path() : std::string();
    return path;
  }

  std::string panel(int number) {
    return panels_folder() + "/panel_0" + std::to_string(number) + ".linear.fits";
  }

  std::vector<std::string> mosaic_of(const std::vector<std::string>& panels,
                                     const std::string& output,
                                     const std::vector<std::string>& more = {}) {
    std::vector<std::string> words = {"mosaic"};
    words.insert(words.end(), panels.begin(), panels.end());
    words.insert(words.end(), {"-o", output});
    words.insert(words.end(), more.begin(), more.end());
    return words;
  }

  std::vector<std::string> all_panels() {
    std::vector<std::string> out;
    for (int i = 1; i <= 6; ++i) out.push_back(panel(i));
    return out;
  }

  // Panels of 3 x 3 that the lab makes, without the one of this column in the middle row.
  std::vector<std::string> panels_but(int column, const TemporaryFolder& made,
                                      const std::vector<std::string>& more) {
    std::vector<std::string> words = {"mosaic", "--columns", "3",  "--rows",    "3",
                                      "--air",  "good",      "-o", made.path(), "--quiet"};
    words.insert(words.end(), more.begin(), more.end());
    const Run sim = run_sim(words);
    CAPTURE(sim.errors);
    REQUIRE(sim.status == 0);
    std::vector<std::string> out;
    const json truth = json::parse(text_of(made / "truth.json"));
    for (const json& one : truth.at("panels")) {
      if (one.at("row") != 1 || one.at("column") != column)
        out.push_back(made.file(one.at("file").get<std::string>()));
    }
    return out;
  }

  }  // namespace

  TEST_CASE("six panels in any order: four files; finish, recipe and threads repeat the bytes") {
    const TemporaryFolder folder;
    const Run run = run_lull(mosaic_of(all_panels(), folder.file("a.tif"), {"--json"}));
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    CHECK(folder.names() ==
          std::vector<std::string>{"a.html", "a.linear.fits", "a.recipe.json", "a.tif"});
    const std::string page = text_of(folder / "a.html");
    CHECK(page.find("src=\"data:image/svg+xml;base64,") != std::string::npos);
    CHECK(page.find("<bdi>panel_06.linear.fits</bdi>") != std::string::npos);
    CHECK(page.find("Left out") == std::string::npos);
    const json figures = json::parse(run.output);
    CHECK(figures.at("panels").size() == 6);
    CHECK(figures.at("overlaps").size() >= 7);
    CHECK(figures.at("left_out").empty());
    CHECK(figures.at("covered").get<double>() > 0.85);
    CHECK(figures.at("bent_rms_px").get<double>() < figures.at("rigid_rms_px").get<double>());

    const Run finished =
        run_lull({"finish", folder.file("a.linear.fits"), "-o", folder.file("b.tif")});
    CAPTURE(finished.errors);
    REQUIRE(finished.status == 0);
    CHECK(read_file(folder.file("a.tif")) == read_file(folder.file("b.tif")));

    std::vector<std::string> again = mosaic_of(
        {}, folder.file("c.tif"), {"--recipe", folder.file("a.recipe.json"), "--threads", "1"});
    const Run repeated = run_lull(again);
    CAPTURE(repeated.errors);
    REQUIRE(repeated.status == 0);
    CHECK(read_file(folder.file("c.linear.fits")) == read_file(folder.file("a.linear.fits")));
    CHECK(read_file(folder.file("c.tif")) == read_file(folder.file("a.tif")));
  }

  TEST_CASE("what no panel shows is 0, told by COVER") {
    const TemporaryFolder folder;
    const Run run = run_lull(mosaic_of({panel(1), panel(2), panel(3), panel(4), panel(5)},
                                       folder.file("m.fits"), {"--detail", "none"}));
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    const auto linear = lull::files::read_picture(folder.file("m.linear.fits"));
    const auto cover = lull::files::read_fits_image(folder.file("m.linear.fits"), "COVER");
    REQUIRE(cover);
    const lull::Plane& light = linear.picture.channels.front();
    std::int64_t hidden = 0;
    for (int y = 0; y < light.height(); ++y) {
      for (int x = 0; x < light.width(); ++x) {
        if (cover->channels[0].row(y)[x] > 0) continue;
        ++hidden;
        CHECK(light.row(y)[x] == 0);
      }
    }
    CHECK(hidden > 2000);
  }

  TEST_CASE("a hole is told, with the panel beside it, and drawn on the map") {
    const TemporaryFolder made;
    const auto panels = panels_but(1, made, {"--panel", "240x200", "--overlap", "25%"});
    const TemporaryFolder folder;
    const Run run =
        run_lull(mosaic_of(panels, folder.file("a.tif"),
                           {"--detail", "none", "--plot", folder.file("map.svg"), "--json"}));
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    bool told = false;
    const json figures = json::parse(run.output);
    for (const json& note : figures.at("notes")) {
      const std::string text = note;
      told = told || (text.starts_with("a hole of 1") &&
                      text.find("point the telescope") != std::string::npos);
    }
    CHECK(told);
    const std::string map = text_of(folder / "map.svg");
    CHECK(map.find(">holes</text>") != std::string::npos);
    CHECK(map.find(">overlaps</text>") != std::string::npos);
    CHECK(map.find(">8</text>") != std::string::npos);
    CHECK(map.find(">9</text>") == std::string::npos);
  }

  TEST_CASE(
      "shadows that moved are told with the minutes between the panels, and what each resolves") {
    const TemporaryFolder made;
    const Run sim = run_sim({"mosaic", "--columns", "2", "--rows", "1", "--panel", "560x480",
                             "--overlap", "35%", "--air", "good", "--hours", "8", "--libration",
                             "0", "-o", made.path(), "--quiet"});
    CAPTURE(sim.errors);
    REQUIRE(sim.status == 0);
    const TemporaryFolder folder;
    const Run run =
        run_lull(mosaic_of({made.file("panel_01.linear.fits"), made.file("panel_02.linear.fits")},
                           folder.file("a.tif"), {"--detail", "none", "--json"}));
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    const json figures = json::parse(run.output);
    REQUIRE(figures.at("moved_light").size() == 1);
    CHECK(figures.at("moved_light")[0].at("minutes_apart") == doctest::Approx(480));
    CHECK(figures.at("panels")[0].at("resolution_px").get<double>() > 2);
    CHECK(figures.dump().find("(8.0 hours apart, ") != std::string::npos);
    const std::string page = text_of(folder / "a.html");
    CHECK(page.find("Shadows that moved") != std::string::npos);
  }

  TEST_CASE("the limb of panels that are named after the Sun is round, and others' where asked") {
    const TemporaryFolder made;
    const Run sim = run_sim({"mosaic", "--scene", "sun", "--columns", "2", "--rows", "2", "--panel",
                             "420x420", "--overlap", "30%", "-o", made.path(), "--quiet"});
    CAPTURE(sim.errors);
    REQUIRE(sim.status == 0);
    std::vector<std::string> plain;
    std::vector<std::string> named;
    for (int i = 1; i <= 4; ++i) {
      plain.push_back(made.file("panel_0" + std::to_string(i) + ".linear.fits"));
      named.push_back(made.file("sun_" + std::to_string(i) + ".linear.fits"));
      std::filesystem::copy(plain.back(), named.back());
    }
    const TemporaryFolder folder;
    const auto joined = [&](const std::vector<std::string>& panels, std::vector<std::string> more) {
      more.insert(more.end(), {"--detail", "none", "--json", "--overwrite"});
      const Run run = run_lull(mosaic_of(panels, folder.file("a.tif"), more));
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      return json::parse(run.output);
    };
    CHECK(joined(plain, {}).at("limb").is_null());
    CHECK(joined(named, {"--limb", "off"}).at("limb").is_null());
    const json sun = joined(named, {});
    CHECK(sun.at("limb").at("radius_px").get<double>() > 300);
    CHECK(sun.at("limb").at("rms_px").get<double>() < 0.1);
    CHECK(sun.at("caution").get<std::string>().find("full-aperture filter") != std::string::npos);
    CHECK(text_of(folder / "a.html").find("radius of the circle onto which") != std::string::npos);
    CHECK(joined(plain, {"--limb", "circle"}).at("limb") == sun.at("limb"));
  }

  TEST_CASE("a panel that is missing at the edge of the Sun's disc is a hole") {
    const TemporaryFolder made;
    const auto panels =
        panels_but(2, made, {"--scene", "sun", "--panel", "300x300", "--overlap", "30%"});
    const TemporaryFolder folder;
    const auto told = [&](const std::string& limb) {
      const Run run = run_lull(mosaic_of(panels, folder.file("a.tif"),
                                         {"--detail", "none", "--limb", limb, "--overwrite"}));
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      return run.output.find("note: a hole of 1") != std::string::npos;
    };
    CHECK(told("circle"));
    CHECK_FALSE(told("off"));
  }

  TEST_CASE("copies and strangers are named and left out") {
    const TemporaryFolder folder;
    std::filesystem::copy(panel(2), folder.file("copy.linear.fits"));
    const Run stacked = run_lull({"stack", sample("granules.mkv"), "-o", folder.file("sun.tif"),
                                  "--object", "moon", "--finish", "none", "--frames", "0-11"});
    CAPTURE(stacked.errors);
    REQUIRE(stacked.status == 0);
    std::vector<std::string> panels = all_panels();
    panels.push_back(folder.file("copy.linear.fits"));
    panels.push_back(folder.file("sun.tif"));
    // A finished picture among linear stacks: refused before any work.
    const Run mixed = run_lull(mosaic_of(panels, folder.file("a.tif")));
    CHECK(mixed.status == 3);
    CHECK(mixed.errors.find("is a picture without half stacks") != std::string::npos);
    panels.pop_back();
    const Run run = run_lull(mosaic_of(panels, folder.file("a.tif"), {"--detail", "none"}));
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    CHECK(run.output.find("copy.linear.fits: the same picture as") != std::string::npos);
    const std::string page = text_of(folder / "a.html");
    CHECK(page.find("copy.linear.fits</bdi></th><td><bdi>the same picture as") !=
          std::string::npos);
  }

  // 8 bits and clipped, by Pillow.
  std::string plain_picture(const TemporaryFolder& folder, int number, const std::string& script) {
    const std::string file = folder.file("p" + std::to_string(number) + ".png");
    const Run run = run_program({"/usr/bin/python3", "-c",
                                 "import sys, numpy as np\n"
                                 "from astropy.io import fits\n"
                                 "from PIL import Image\n"
                                 "a = fits.getdata(sys.argv[1]).astype(float)\n"
                                 "a = np.clip(a / np.percentile(a, 99.5), 0, 1)\n" +
                                     script,
                                 panel(number), file});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return file;
  }

  TEST_CASE(
      "plain pictures are joined, with what harms them once; JPEG is refused in clear words") {
    const TemporaryFolder folder;
    const std::string eight = "Image.fromarray((255 * a).astype(np.uint8)).save(sys.argv[2])\n";
    std::vector<std::string> panels;
    for (int i = 1; i <= 3; ++i) panels.push_back(plain_picture(folder, i, eight));
    panels.push_back(plain_picture(folder, 4, eight));
    panels.push_back(plain_picture(folder, 5, eight));
    const Run run = run_lull(mosaic_of(panels, folder.file("m.tif"), {"--json"}));
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    CHECK_FALSE(std::filesystem::exists(folder / "m.linear.fits"));
    int of_bits = 0;
    int of_clipping = 0;
    const json figures = json::parse(run.output);
    for (const json& note : figures.at("notes")) {
      const std::string text = note;
      if (text.find("8 bits a sample") != std::string::npos) {
        ++of_bits;
        CHECK(text.find("and 3 more: ") != std::string::npos);
      }
      if (text.find("clipped at the brightest value") != std::string::npos) ++of_clipping;
    }
    CHECK(of_bits == 1);
    CHECK(of_clipping >= 1);

    const std::string jpeg = plain_picture(
        folder, 6, "Image.fromarray((255 * a).astype(np.uint8)).save(sys.argv[2], 'JPEG')\n");
    const Run refused = run_lull(mosaic_of({panel(1), panel(2), jpeg}, folder.file("a.tif")));
    CHECK(refused.status == 3);
    CHECK(refused.errors.find("it is a JPEG") != std::string::npos);
  }

  TEST_CASE("a limb that no panel shows is told where a circle was asked for") {
    const TemporaryFolder folder;
    const std::string lit = "Image.fromarray((127 * a + 128).astype(np.uint8)).save(sys.argv[2])\n";
    std::vector<std::string> panels;
    for (int i = 1; i <= 6; ++i) panels.push_back(plain_picture(folder, i, lit));
    const Run run = run_lull(mosaic_of(panels, folder.file("a.tif"), {"--limb", "circle"}));
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    CHECK(run.output.find("note: --limb circle: the panels show no edge") != std::string::npos);
  }

  TEST_CASE("what makes no mosaic is refused with its reason, and nothing is written") {
    const TemporaryFolder folder;
    const auto refused = [&](const std::vector<std::string>& words, int status,
                             const std::string& reason) {
      const Run run = run_lull(words);
      CAPTURE(run.errors);
      CHECK(run.status == status);
      CHECK(run.errors.find(reason) != std::string::npos);
    };
    refused(mosaic_of({panel(1)}, folder.file("a.tif")), 2, "one panel is no mosaic");
    refused(mosaic_of({panel(1), panel(1)}, folder.file("a.tif")), 4, "no two panels show");
    refused(mosaic_of({panel(1), "missing.fits"}, folder.file("a.tif")), 3, "missing.fits");
    refused(mosaic_of({panel(1), panel(2)}, folder.file("a.gif")), 2, "a.gif");
    write_beginning(folder.file("cut.linear.fits"), panel(3), 30'000);
    refused(mosaic_of({panel(1), folder.file("cut.linear.fits")}, folder.file("a.tif")), 3,
            "cut.linear.fits");
    CHECK(folder.names() == std::vector<std::string>{"cut.linear.fits"});
  }
}
