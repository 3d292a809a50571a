#include "report/link.h"

#include <doctest/doctest.h>

using lull::report::relative_link;

TEST_SUITE("report/link") {
  // RFC 3986: 2.1 percent-encoding, 2.3 unreserved characters, 4.2 relative references.
  TEST_CASE("links lead from the page's folder, whatever the folders of both are called") {
    CHECK(relative_link("moon.tif", "moon.html") == "moon.tif");
    CHECK(relative_link("out/moon.tif", "out/moon.html") == "moon.tif");
    CHECK(relative_link("out/moon.tif", "pages/moon.html") == "../out/moon.tif");
    CHECK(relative_link("./a/../moon.tif", "moon.html") == "moon.tif");
    CHECK(relative_link("/d/x/moon.tif", "/d/moon.html") == "x/moon.tif");
  }

  TEST_CASE("no name can become a scheme, a query, a fragment or markup") {
    // A colon in the first segment would name a scheme (RFC 3986, 4.2).
    CHECK(relative_link("javascript:x()", "a.html") == "javascript%3Ax%28%29");
    CHECK(relative_link("a?b#c%.tif", "a.html") == "a%3Fb%23c%25.tif");
    CHECK(relative_link("a \"<&'.tif", "a.html") == "a%20%22%3C%26%27.tif");
    CHECK(relative_link("m\xC3\xA9.tif", "a.html") == "m%C3%A9.tif");
    CHECK(relative_link("A-z_0.9~", "a.html") == "A-z_0.9~");
  }
}
