#include "draw/xml_text.h"

#include <doctest/doctest.h>

using namespace lull::draw;

TEST_SUITE("draw/xml_text") {
  TEST_CASE("text of XML: what section 2.2 of XML 1.0 and RFC 3629 do not allow becomes '?'") {
    CHECK(xml_text("a < b & \"c\"") == "a &lt; b &amp; &quot;c&quot;");
    CHECK(xml_text("tab\there\x01\x1f") == "tab\there??");
    CHECK(xml_text("\xC3\xA9 \xE2\x82\xAC \xF0\x9F\x8C\x99") ==
          "\xC3\xA9 \xE2\x82\xAC \xF0\x9F\x8C\x99");
    CHECK(xml_text("\xC0\x80") == "??");            // overlong
    CHECK(xml_text("\xED\xA0\x80") == "???");       // half of a surrogate pair
    CHECK(xml_text("\xEF\xBF\xBF") == "???");       // no character
    CHECK(xml_text("\xF4\x90\x80\x80") == "????");  // beyond U+10FFFF
    CHECK(xml_text("\xE2\x82") == "??");            // cut off
  }
}
