// Covers: files/table_reader
#include "files/toml_file.h"

#include <doctest/doctest.h>

#include <string>

#include "core/error.h"
#include "files/table_reader.h"

using namespace lull;
using namespace lull::files;

TEST_SUITE("files/toml_file") {
  namespace {

  constexpr Quantity kPixel = {"pixel_um", 0.5, 100, "um", "nm", "mm"};

  // What reading a number of this text throws.
  std::string refusal_of(const std::string& text) {
    const TomlValue root = parse_toml(text, "a.toml");
    try {
      static_cast<void>(TableReader(root, "a.toml", "[camera]", {"pixel_um"}).required(kPixel));
    } catch (const InputError& error) {
      return error.what();
    }
    return {};
  }

  }  // namespace

  // The values are those of the examples in the specification, TOML 1.0.0.
  TEST_CASE("values keep their kind, their text and their line") {
    const TomlValue root = parse_toml(
        "# comment\nhex = 0xDEADBEEF\nflt = 6.626e-34\nbool1 = true\n\nld1 = 1979-05-27\n"
        "str = \"I'm a string. \\\"You can quote me\\\".\"\n[table-1]\nkey1 = [1, \"two\"]\n",
        "a.toml");
    CHECK(root.find("hex")->number == 3735928559.0);
    CHECK(root.find("hex")->line == 2);
    CHECK(root.find("flt")->number == 6.626e-34);
    CHECK(root.find("bool1")->text == "true");
    CHECK(root.find("ld1")->text == "1979-05-27");
    CHECK(root.find("ld1")->kind == TomlValue::Kind::date);
    CHECK(root.find("str")->text == "I'm a string. \"You can quote me\".");
    const TomlValue& table = *root.find("table-1");
    CHECK(table.line == 8);
    CHECK(table.find("key1")->inner.at(1).text == "two");
    CHECK(root.find("nothing") == nullptr);
  }

  TEST_CASE("tables stay in the order of the file") {
    const TomlValue root = parse_toml("[z]\n[b]\n[a]\n", "a.toml");
    CHECK(root.inner.at(0).key == "z");
    CHECK(root.inner.at(2).key == "a");
  }

  TEST_CASE("what is no TOML is refused with its line") {
    CHECK_THROWS_WITH_AS(static_cast<void>(parse_toml("a = 1\nb = = 2\n", "a.toml")),
                         doctest::Contains("a.toml:2: this is no TOML"), InputError);
    CHECK_THROWS_AS(static_cast<void>(parse_toml("a = 1\na = 2\n", "a.toml")), InputError);
    CHECK_THROWS_AS(static_cast<void>(parse_toml("a = \"\xFF\"\n", "a.toml")), InputError);
    CHECK_THROWS_AS(static_cast<void>(read_toml("no/such.toml")), InputError);
  }

  TEST_CASE("a text written is read back to the same bytes") {
    const std::string odd = "a\"b\\c\n\x01\x7F \xC3\xA9 \xE6\x9C\x88";
    const TomlValue root = parse_toml("key = " + toml_text(odd) + "\n", "a.toml");
    CHECK(root.find("key")->text == odd);
  }

  TEST_CASE("unknown keys are refused with the nearest one and the line") {
    CHECK(refusal_of("\npixel_mu = 3.75\n") ==
          "a.toml:2: [camera]: unknown key 'pixel_mu'. Did you mean pixel_um? Known: pixel_um");
  }

  TEST_CASE("a unit that is wrong by 1,000 is recognised") {
    CHECK(refusal_of("pixel_um = 3000") ==
          "a.toml:1: [camera]: pixel_um = 3000: 0.5 to 100 um is possible. If these are nm, write "
          "pixel_um = 3");
    CHECK(refusal_of("pixel_um = 0.00375").ends_with("If these are mm, write pixel_um = 3.75"));
    CHECK(refusal_of("pixel_um = 1e9") ==
          "a.toml:1: [camera]: pixel_um = 1000000000: 0.5 to 100 um is possible");
    CHECK(refusal_of("pixel_um = nan").find("is possible") != std::string::npos);
    CHECK(refusal_of("pixel_um = 3.75").empty());
  }

  TEST_CASE("values of another kind, and values that are missing, are refused") {
    CHECK(refusal_of("pixel_um = \"3\"") == "a.toml:1: [camera]: pixel_um: this is no number");
    CHECK(refusal_of("") == "a.toml: [camera]: 'pixel_um' is missing");
    const TomlValue root = parse_toml("a = 1.5\nb = [1]\nc = {}\nd = [{}, 1]\n", "a.toml");
    const TableReader read(root, "a.toml", "", {});
    CHECK_THROWS_AS(static_cast<void>(read.whole_number({"a", 0, 9})), InputError);
    CHECK_THROWS_AS(static_cast<void>(read.texts("b")), InputError);
    CHECK_THROWS_AS(static_cast<void>(read.text("c")), InputError);
    CHECK_THROWS_AS(static_cast<void>(read.table("a")), InputError);
    CHECK_THROWS_AS(static_cast<void>(read.tables("d")), InputError);
    CHECK_THROWS_AS(static_cast<void>(read.date("a")), InputError);
    CHECK(read.table("c") != nullptr);
  }
}
