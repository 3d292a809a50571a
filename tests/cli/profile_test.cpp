// Covers: cli/profile_verb, cli/profile_text
#include <doctest/doctest.h>

#include <fstream>
#include <nlohmann/json.hpp>
#include <string>

#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"

// `lull profile`, and --profile of the other commands.

TEST_SUITE("cli/profile") {
  namespace {

  using namespace lull::test;

  void write(const std::string& path, const std::string& text) { std::ofstream(path) << text; }

  }  // namespace

  TEST_CASE("the example is a profile, and is shown as it is understood") {
    const TemporaryFolder folder;
    const Run example = run_lull({"profile", "example"});
    REQUIRE(example.status == 0);
    write(folder.file("ridge.toml"), example.output);
    const Run shown = run_lull({"profile", "check", folder.file("ridge.toml")});
    CHECK(shown.status == 0);
    CHECK(contains(shown.output, "scale: 0.2063 arcsec a pixel"));
    CHECK(contains(shown.output, "filter IR: 742 nm, band 100 nm"));
    CHECK(contains(shown.output, "(not there now)"));
    CHECK(contains(shown.output, "The Sun: record it only with a certified"));
    const Run figures = run_lull({"profile", "check", folder.file("ridge.toml"), "--json"});
    CHECK(nlohmann::json::parse(figures.output).at("site").at("height_m") == 1650);
  }

  TEST_CASE("a profile that cannot be is refused with its line") {
    const TemporaryFolder folder;
    write(folder.file("a.toml"), "[camera]\npixel_um = 3000\n");
    check_refused({"profile", "check", folder.file("a.toml")}, 3, "If these are nm, write");
    check_refused({"stack", sample("ringed_faint.ser"), "--profile", folder.file("a.toml")}, 3,
                  "a.toml:2");
    write(folder.file("b.toml"), "[optics]\naperture = 250\n");
    check_refused({"profile", "check", folder.file("b.toml")}, 3, "Did you mean aperture_mm?");
    write(folder.file("c.toml"), "[night]\nnames = [\"{date}_{datee}\"]\n");
    check_refused({"profile", "check", folder.file("c.toml")}, 3, "c.toml:2");
    check_refused({"profile", "check"}, 2, "name the profile");
    check_refused({"profile", "chekc"}, 2, "check");
    check_refused({"inspect", sample("ringed_faint.ser"), "--profile", "nowhere"}, 2,
                  "no such profile");
  }

  TEST_CASE("the command line wins over the profile, and the recipe holds what was used") {
    const TemporaryFolder folder;
    write(folder.file("a.toml"),
          "[optics]\naperture_mm = 250\nfocal_length_mm = 3750\n[camera]\npixel_um = 3.75\n"
          "[filters.R]\nwavelength_nm = 630\n[options.saturn]\nkeep = 20\npatch = 40\n");
    const std::string picture = folder.file("a.tif");
    const Run run =
        run_lull({"stack", sample("ringed_faint.ser"), "-o", picture, "--profile",
                  folder.file("a.toml"), "--filter", "R", "--object", "saturn", "--keep", "30"});
    REQUIRE(run.status == 0);
    std::ifstream file(folder.file("a.recipe.json"));
    const nlohmann::json options = nlohmann::json::parse(file).at("options");
    CHECK(options.at("aperture") == 250);
    CHECK(options.at("wavelength") == 630);
    CHECK(options.at("filter") == "R");
    CHECK(options.at("keep") == "30");
    CHECK(options.at("patch") == "40");
    check_refused({"stack", "--recipe", folder.file("a.recipe.json"), "-o", folder.file("b.tif"),
                   "--profile", folder.file("a.toml")},
                  2, "the recipe holds what its profile gave");
  }
}
