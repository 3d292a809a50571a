// Covers: profile/read_profile, profile/example
#include "profile/profile.h"

#include <doctest/doctest.h>

#include <string>

#include "core/error.h"
#include "profile/example.h"

using namespace lull;
using namespace lull::profile;

TEST_SUITE("profile/profile") {
  namespace {

  // The message that this text is refused with; empty where it is not.
  std::string refusal_of(const std::string& text) {
    try {
      static_cast<void>(parse_profile(text, "p/a.toml"));
    } catch (const InputError& error) {
      return error.what();
    }
    return {};
  }

  bool says(const std::string& text, const std::string& what) {
    CAPTURE(refusal_of(text));
    return refusal_of(text).find(what) != std::string::npos;
  }

  }  // namespace

  TEST_CASE("the example holds every part of a profile") {
    const Profile profile = parse_profile(kExampleFile, "p/ridge.toml");
    CHECK(profile.name == "Ridge Observatory, 250 mm");
    CHECK(profile.optics->obstruction == 0.23);
    CHECK(profile.camera->width_px == 1936);
    CHECK(profile.camera->read_noise_e == 1.2);
    CHECK(profile.filters.size() == 5);
    CHECK(profile.site->longitude_deg == 8.25);
    CHECK(profile.site->time_zone == "+01:00");
    CHECK(profile.storms.front().longitude_deg == 62);
    CHECK(profile.darks == std::vector<std::string>{"p/darks"});
    CHECK(profile.options.size() == 3);
  }

  // By hand: 206,265 arcsec x 0.00375 mm / 3750 mm.
  TEST_CASE("the scale follows from pixel and focal length") {
    const Profile profile = parse_profile(kExampleFile, "ridge.toml");
    CHECK(*scale_arcsec_per_px(profile) == doctest::Approx(0.206265).epsilon(1e-5));
    CHECK_FALSE(scale_arcsec_per_px(parse_profile("[camera]\npixel_um = 3\n", "a")).has_value());
  }

  TEST_CASE("a filter goes by its name and its words, in any case of letters") {
    const Profile profile = parse_profile(kExampleFile, "ridge.toml");
    CHECK(profile.filter("ir")->wavelength_nm == 742);
    CHECK(profile.filter("Red")->name == "R");
    CHECK(profile.filter("H-alpha") == nullptr);
    CHECK(
        says("[filters.R]\nwavelength_nm = 600\n[filters.B]\nwavelength_nm = 450\n"
             "words = [\"r\"]\n",
             "a.toml:3: [filters.B]: 'r' means the filter R already"));
  }

  TEST_CASE("options for a target come after those for all and for planets") {
    const Profile profile = parse_profile(
        "[options.jupiter]\nkeep = \"15%\"\n[options.all]\nkeep = \"20%\"\nflatten-limb = true\n"
        "[options.planet]\nsaturation = 1.5\n",
        "a.toml");
    const auto for_jupiter = profile.options_for("jupiter");
    REQUIRE(for_jupiter.size() == 4);
    CHECK(for_jupiter.at(0).name == "--keep");
    CHECK(for_jupiter.at(1).values == std::vector<std::string>{"true"});
    CHECK(for_jupiter.at(2).values == std::vector<std::string>{"1.5"});
    CHECK(for_jupiter.at(3).values == std::vector<std::string>{"15%"});
    CHECK(profile.options_for("moon").size() == 2);
    CHECK(profile.options_for("all").size() == 2);
  }

  TEST_CASE("what cannot be is refused, with file and line") {
    CHECK(says("[camera]\npixel_um = 3000\n",
               "p/a.toml:2: [camera]: pixel_um = 3000: 0.5 to 100 um is possible. If these are nm, "
               "write pixel_um = 3"));
    CHECK(says("[optics]\naperture_mm = 0.25\nfocal_length_mm = 3750\n",
               "If these are m, write aperture_mm = 250"));
    CHECK(
        says("[filters.R]\nwavelength_nm = 0.63\n", "If these are um, write wavelength_nm = 630"));
    CHECK(says("[optics]\naperture_mm = 2500\nfocal_length_mm = 375\n", "a focal ratio of 0.15"));
    CHECK(says("[optics]\naperture_mm = 250\n", "'focal_length_mm' is missing"));
    CHECK(says("[optic]\n", "p/a.toml:1: unknown key 'optic'. Did you mean optics?"));
    CHECK(says("[options.jupitr]\n", "Did you mean jupiter?"));
    CHECK(says("[options.moon]\nkeep = {}\n", "'keep': this is no value of an option"));
    CHECK(says("[site]\nlatitude_deg = 465\nlongitude_deg = 8\n", "-90 to 90 degrees"));
    CHECK(says("[site]\nlatitude_deg = 46\nlongitude_deg = 8\ntime_zone = \"winter\"\n",
               "p/a.toml:4: [site]: unknown time zone 'winter'"));
    CHECK(says("[[storms]]\nobject = \"jupiter\"\nname = \"x\"\nlongitude_deg = 1\nsystem = 4\n",
               "system = 4: 1 to 3 is possible"));
    CHECK(says("filters = 3\n", "'filters' is a table"));
  }

  TEST_CASE("a profile may be empty, and then says nothing") {
    const Profile profile = parse_profile("", "p/ridge.toml");
    CHECK(profile.name == "ridge");
    CHECK_FALSE(profile.optics.has_value());
    CHECK(profile.options_for("moon").empty());
  }
}
