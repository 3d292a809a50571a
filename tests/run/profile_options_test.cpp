// Covers: run/profile_request
#include "run/profile_options.h"

#include <doctest/doctest.h>

#include <string>

#include "profile/example.h"
#include "run/inspect_request.h"
#include "run/profile_request.h"
#include "run/stack_request.h"

using namespace lull;
using namespace lull::run;

TEST_SUITE("run/profile_options") {
  namespace {

  // The request after `asked` was asked of the command line, with this profile.
  StackRequest with(const std::string& text, const StackRequest& asked) {
    const profile::Profile profile = profile::parse_profile(text, "a.toml");
    check_profile_options(profile);
    StackRequest request;
    apply_profile(profile, stack_options(), asked, request);
    return request;
  }

  StackRequest of_capture(const std::string& name) {
    StackRequest asked;
    asked.input.captures = {name};
    return asked;
  }

  }  // namespace

  TEST_CASE("a profile gives the instrument, and a named filter the wavelength") {
    StackRequest asked = of_capture("a.ser");
    asked.instrument.filter = "red";
    const StackRequest request = with(std::string(profile::kExampleFile), asked);
    CHECK(request.instrument.aperture_mm == 250);
    CHECK(request.instrument.focal_length_mm == 3750);
    CHECK(request.instrument.pixel_um == 3.75);
    CHECK(request.instrument.wavelength_nm == 630);
    CHECK(request.input.cfa == capture::Cfa::none);
    asked.instrument.filter = "H-alpha";
    CHECK_THROWS_WITH_AS(static_cast<void>(with(std::string(profile::kExampleFile), asked)),
                         "--filter H-alpha: a.toml has no such filter; it has R, G, B, L or IR.",
                         UsageError);
  }

  TEST_CASE("half of the optics is of use only with the other half") {
    const std::string camera = "[camera]\npixel_um = 3.75\n";
    CHECK(with(camera, of_capture("a.ser")).instrument.pixel_um == 0);
    StackRequest asked = of_capture("a.ser");
    asked.instrument.aperture_mm = 200;
    asked.instrument.focal_length_mm = 2000;
    CHECK(with(camera, asked).instrument.pixel_um == 3.75);
  }

  TEST_CASE("options follow the object, or the names of the captures") {
    const std::string text = "[options.jupiter]\nkeep = \"12%\"\n[options.moon]\nkeep = 300\n";
    const auto kept = [&](const StackRequest& asked) {
      return option_text(option_named(stack_options(), "--keep").get(with(text, asked)));
    };
    CHECK(kept(of_capture("2026-03-01_jupiter_R.ser")) == "12%");
    CHECK(kept(of_capture("Lunar 3.ser")) == "300");
    CHECK(kept(of_capture("a.ser")) == "auto");
    CHECK(kept(of_capture("moon_and_jupiter.ser")) == "auto");
    StackRequest asked = of_capture("moon.ser");
    asked.look.object = Object::jupiter;
    CHECK(kept(asked) == "12%");
    asked = of_capture("moon.ser");
    asked.input.captures.push_back("jupiter.ser");
    CHECK(kept(asked) == "auto");
  }

  TEST_CASE("options of a target win over the instrument, and others are passed over") {
    const std::string text =
        std::string(profile::kExampleFile) + "[options.moon]\nfocal-length = 1500\n";
    CHECK(with(text, of_capture("moon.ser")).instrument.focal_length_mm == 1500);
    const profile::Profile profile = profile::parse_profile(text, "a.toml");
    InspectRequest request;
    apply_profile(profile, inspect_options(), InspectRequest{}, request);
    CHECK(request.instrument.focal_length_mm == 3750);
  }

  TEST_CASE("options are held to the command line, with the line where they stand") {
    const auto check = [](const std::string& text) {
      check_profile_options(profile::parse_profile(text, "a.toml"));
    };
    CHECK_THROWS_WITH_AS(check("[options.all]\nkep = \"15%\"\n"),
                         "a.toml:2: [options.all]: unknown option 'kep'. Did you mean keep? 'lull "
                         "stack --help' lists them",
                         InputError);
    CHECK_THROWS_WITH_AS(check("[options.sun]\n\nsaturation = 99\n"),
                         doctest::Contains("a.toml:3: [options.sun]: --saturation"), InputError);
    CHECK_THROWS_AS(check("[options.all]\noutput = \"a.tif\"\n"), InputError);
    CHECK_THROWS_AS(check("[options.all]\nkeep = [\"1%\", \"2%\"]\n"), InputError);
    CHECK_THROWS_WITH_AS(check("[camera]\npixel_um = 3\nmosaic = \"RGBG\"\n"),
                         doctest::Contains("mosaic"), InputError);
    CHECK_NOTHROW(check(std::string(profile::kExampleFile)));
  }

  TEST_CASE("the words for targets are those of --object") {
    std::vector<std::string> words;
    for (const auto& [object, word] : object_words()) {
      if (object != Object::unspecified) words.push_back(word);
    }
    CHECK(profile::target_words() == words);
  }

  TEST_CASE("a profile with options for the Sun is due the caution") {
    CHECK(caution_of(profile::parse_profile("[options.sun]\n", "a")).find("certified") !=
          std::string::npos);
    CHECK(caution_of(profile::parse_profile("[options.moon]\n", "a")).empty());
    const nlohmann::json shown = to_json(profile::parse_profile(profile::kExampleFile, "a.toml"));
    CHECK(shown.at("filters").at("R").at("band_nm") == 100);
    CHECK(shown.at("camera").at("mosaic") == "none");
    CHECK(to_json(profile::parse_profile("", "a")).at("optics").is_null());
  }
}
