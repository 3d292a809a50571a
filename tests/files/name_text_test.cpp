#include "files/name_text.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <string>

#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull::files;

TEST_SUITE("files/name_text") {
  TEST_CASE("UTF-8 names are their own text; others become a URI and come back from it") {
    // RFC 3986, section 2: unreserved characters stay, each other byte is % and two digits.
    CHECK(name_text("mond \xC3\xA9 100%.ser") == "mond \xC3\xA9 100%.ser");
    CHECK(name_text("n/mond \xE9 100%.ser") == "file:n/mond%20%E9%20100%25.ser");
    CHECK(name_text("file:a") == "file:file%3Aa");
    std::string all;
    for (int byte = 1; byte < 256; ++byte) all += static_cast<char>(byte);
    for (const std::string& name : {std::string("plain"), std::string("file:%E9"), all, all + "%4"})
      CHECK(name_of_text(name_text(name)) == name);
    CHECK(name_of_text("file:a%4") == "a%4");
  }

  TEST_CASE("Python's urllib encodes names alike") {
    const lull::test::TemporaryFolder folder;
    const std::string name = "a \xFF\xE9'\"\\%~&?#.ser";
    const auto ran =
        lull::test::run_program({"/usr/bin/python3", "-c",
                                 "import os, sys, urllib.parse\n"
                                 "sys.stdout.write(urllib.parse.quote(os.fsencode(sys.argv[1])))",
                                 name});
    CHECK("file:" + ran.output == name_text(name));
  }

  TEST_CASE("JSON is UTF-8 whatever is in it") {
    const nlohmann::json json = {{"note", "\xE9 and \xC3\xA9"}, {"list", {"\xFF", 1.5, nullptr}}};
    CHECK(nlohmann::json::parse(json_text(json, 1)) ==
          nlohmann::json{{"note", "%E9 and \xC3\xA9"}, {"list", {"%FF", 1.5, nullptr}}});
  }
}
