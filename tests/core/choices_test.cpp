#include "core/choices.h"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using lull::did_you_mean;

TEST_SUITE("core/choices") {
  TEST_CASE("a word is proposed where one in three letters at most is wrong") {
    const std::vector<std::string> known = {"auto", "sun", "moon", "mars", "jupiter", "saturn"};
    CHECK(did_you_mean("mooon", known) == " Did you mean moon?");
    CHECK(did_you_mean("mras", known) == " Did you mean mars?");  // neighbours exchanged: one error
    CHECK(did_you_mean("jupitr", known) == " Did you mean jupiter?");
    CHECK(did_you_mean("sutrn", {"saturn"}).empty());  // two errors in five letters
    CHECK(did_you_mean("pluto", known).empty());       // no typing error of "auto"
    CHECK(did_you_mean("x", known).empty());
    CHECK(did_you_mean("", known).empty());
    CHECK(did_you_mean("moon", {}).empty());
  }
}
