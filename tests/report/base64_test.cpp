#include "report/base64.h"

#include <doctest/doctest.h>

#include <string>
#include <string_view>

namespace {

std::string encoded(std::string_view text) {
  return lull::report::base64(std::as_bytes(std::span(text)));
}

}  // namespace

TEST_SUITE("report/base64") {
  TEST_CASE("base64 as the test vectors of RFC 4648, section 10") {
    CHECK(encoded("").empty());
    CHECK(encoded("f") == "Zg==");
    CHECK(encoded("fo") == "Zm8=");
    CHECK(encoded("foo") == "Zm9v");
    CHECK(encoded("foob") == "Zm9vYg==");
    CHECK(encoded("fooba") == "Zm9vYmE=");
    CHECK(encoded("foobar") == "Zm9vYmFy");
  }
}
