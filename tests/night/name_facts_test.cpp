// Covers: night/name_rule, night/words, night/facts
#include "night/name_facts.h"

#include <doctest/doctest.h>

#include "core/error.h"

using namespace lull;
using namespace lull::night;

TEST_SUITE("night/name_facts") {
  namespace {

  NameFacts read(const std::string& name, const std::string& profile = {}) {
    const std::filesystem::path path(name);
    return NameReader(profile::parse_profile(profile, "a.toml"))
        .read(path.parent_path().string(), path.filename().string());
  }

  }  // namespace

  TEST_CASE("names say target, filter, exposure, gain, panel and kind") {
    const NameFacts facts = read("2026-03-01/Jupiter_R_exp10ms_gain300_panel2.ser");
    CHECK(facts.target == "jupiter");
    CHECK(facts.filter == "R");
    CHECK(facts.exposure_s == doctest::Approx(0.01));
    CHECK(facts.gain == 300);
    CHECK(facts.panel == "2");
    CHECK_FALSE(facts.kind.has_value());
    CHECK(read("darks/a 0.5s.ser").kind == Kind::dark);
    CHECK(read("darks/a 0.5s.ser").exposure_s == 0.5);
    CHECK(read("flat-green.avi").filter == "G");
    CHECK(read("flat-green.avi").kind == Kind::flat);
    CHECK(read("Lunar gain_120.mkv").target == "moon");
    CHECK(read("Lunar gain_120.mkv").gain == 120);
  }

  TEST_CASE("other words say nothing, in any script") {
    for (const char* name : {"a r b.ser", "месяц.ser", "月.ser", "\xFF\xFE.ser", "flatland.ser",
                             "darkness.ser", "12 messages.ser", "gain.ser", ".ser"}) {
      CAPTURE(name);
      const NameFacts facts = read(name);
      CHECK(facts.target.empty());
      CHECK(facts.filter.empty());
      CHECK_FALSE(facts.kind.has_value());
      CHECK_FALSE(facts.exposure_s.has_value());
      CHECK_FALSE(facts.gain.has_value());
    }
  }

  TEST_CASE("filters are those of the profile, where it lists any") {
    const std::string profile = "[filters.IR742]\nwavelength_nm = 742\nwords = [\"ir\"]\n";
    CHECK(read("mars_IR.ser", profile).filter == "IR742");
    CHECK(read("mars_R.ser", profile).filter.empty());
  }

  TEST_CASE("rules win, the first that fits the whole name") {
    const std::string profile =
        "[night]\nnames = [\"{kind}-{any}\", \"{date}_{target}_{filter}\"]\n";
    const NameFacts facts = read("2026-03-01_Big Crater_G.ser", profile);
    CHECK(facts.date == "2026-03-01");
    CHECK(facts.target == "Big Crater");
    CHECK(facts.filter == "G");
    CHECK(read("FLAT-jupiter.ser", profile).kind == Kind::flat);
    CHECK(read("FLAT-jupiter.ser", profile).target.empty());
    CHECK(read("other-jupiter.ser", profile).target == "jupiter");
  }

  TEST_CASE("rules that cannot be are refused with their line") {
    CHECK_THROWS_WITH_AS(static_cast<void>(read("a", "[night]\nnames = [\"{dat}\"]\n")),
                         doctest::Contains("a.toml:2: [night]: names: '{dat}': unknown part 'dat'. "
                                           "Did you mean date?"),
                         InputError);
    CHECK_THROWS_AS(static_cast<void>(read("a", "[night]\nnames = [\"{date\"]\n")), InputError);
    CHECK_THROWS_AS(static_cast<void>(read("a", "[night]\nnames = \"{date}{date}\"\n")),
                    InputError);
  }

  TEST_CASE("a rule of many parts ends on a long name") {
    std::string rule;
    for (int i = 0; i < 20; ++i) rule += "{any}a";
    CHECK(read(std::string(250, 'a') + "b.ser", "[night]\nnames = [\"" + rule + "\"]\n")
              .target.empty());
  }

  TEST_CASE("exposures have a unit") {
    CHECK(*exposure_in("250us") == doctest::Approx(250e-6));
    CHECK(*exposure_in("2,5 ms") == doctest::Approx(2.5e-3));
    CHECK(*exposure_in("1sec") == 1);
    for (const char* text : {"10", "ms", "0ms", "10 minutes", "1e999s"})
      CHECK_FALSE(exposure_in(text).has_value());
  }
}
