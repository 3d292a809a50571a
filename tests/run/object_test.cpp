#include "run/object.h"

#include <doctest/doctest.h>

#include "core/error.h"

namespace {

using namespace lull::run;
using lull::health::Kind;

bool is_plain(const std::string& caution) { return caution.starts_with("The Sun:"); }

bool is_conditional(const std::string& caution) {
  return caution.starts_with("If this is the Sun:");
}

}  // namespace

TEST_SUITE("run/object") {
  TEST_CASE("plain where the Sun is named, conditional where it may be, none where it is not") {
    CHECK(is_plain(sun_caution(Object::sun, {"a.ser"}, Kind::field)));
    CHECK(is_plain(sun_caution(Object::sun, {"a.ser"}, Kind::star)));
    for (const Kind kind : {Kind::field, Kind::limb, Kind::disc})
      CHECK(is_conditional(sun_caution(Object::unspecified, {"a.ser"}, kind)));
    CHECK(sun_caution(Object::unspecified, {"a.ser"}, Kind::star).empty());
    for (const Object other : {Object::moon, Object::planet, Object::star})
      CHECK(sun_caution(other, {"a.ser"}, Kind::field).empty());
  }

  TEST_CASE("the name of the capture may name the Sun, as a word") {
    for (const char* name : {"sun.mkv", "x/2024-05-01_Sun_03.ser", "SOLAR-limb.avi"})
      CHECK(is_plain(sun_caution(Object::unspecified, {name}, Kind::field)));
    for (const char* name : {"sunset.mkv", "sun/a.ser", "samsung.avi"})
      CHECK(is_conditional(sun_caution(Object::unspecified, {name}, Kind::field)));
    CHECK(sun_caution(Object::moon, {"sun.ser"}, Kind::field).empty());
    CHECK(is_plain(sun_caution(Object::unspecified, {"moon.ser", "sun.ser"}, Kind::disc)));
  }

  TEST_CASE("names of other objects tell it too, but for what passes the Sun") {
    for (const char* name : {"mars-fair.ser", "x/2024_Jupiter_3.avi", "sun/moon.ser"})
      CHECK(sun_caution(Object::unspecified, {name}, Kind::disc).empty());
    for (const char* name : {"moon-eclipse.ser", "venus.ser", "mercury.avi", "marsh.mkv"})
      CHECK(is_conditional(sun_caution(Object::unspecified, {name}, Kind::disc)));
    CHECK(is_conditional(sun_caution(Object::unspecified, {"mars.ser", "b.ser"}, Kind::disc)));
  }

  TEST_CASE("it names filter, finder, eye and guidance, as NASA and the AAS do (from memory)") {
    for (const auto& caution : {sun_caution(Object::sun, {""}, Kind::disc),
                                sun_caution(Object::unspecified, {""}, Kind::disc)}) {
      for (const char* words : {"certified full-aperture filter", "finder capped",
                                "never an eye at unfiltered optics", "maker's and local guidance"})
        CHECK(caution.find(words) != std::string::npos);
    }
  }

  TEST_CASE("an object that is none is refused with the choices") {
    CHECK_THROWS_WITH_AS(
        static_cast<void>(value_of_word<Object>("--object", "mooon", object_words())),
        doctest::Contains("Did you mean moon?"), lull::UsageError);
  }
}
