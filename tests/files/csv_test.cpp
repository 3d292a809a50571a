#include "files/csv.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <vector>

#include "files/atomic_file.h"
#include "support/bytes.h"
#include "support/pictures.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull::files;
using Fields = std::vector<std::string>;

TEST_SUITE("files/csv") {
  TEST_CASE("the examples of RFC 4180, section 2, points 1, 5, 6 and 7") {
    CHECK(csv_line(Fields{"aaa", "bbb", "ccc"}) == "aaa,bbb,ccc\r\n");
    CHECK(csv_line(Fields{"aaa", "b\r\nbb", "ccc"}) == "aaa,\"b\r\nbb\",ccc\r\n");
    CHECK(csv_line(Fields{"aaa", "b\"bb", "ccc"}) == "aaa,\"b\"\"bb\",ccc\r\n");
  }

  TEST_CASE("Python's csv module reads the same fields back") {
    const lull::test::TemporaryFolder folder;
    const std::vector<Fields> records = {
        {"frame", "name, with comma", "\"quoted\""}, {"", "two\nlines", "a\rb"}, {"1", "", "\"\""}};
    std::string text;
    for (const Fields& record : records) text += csv_line(record);
    write_file(folder / "table.csv", text);
    const lull::test::Run ran = lull::test::run_pictures({"csv", (folder / "table.csv").string()});
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    CHECK(nlohmann::json::parse(ran.text()) == nlohmann::json(records));
  }
}
