#include "files/recipe.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "files/atomic_file.h"
#include "support/bytes.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;
using nlohmann::json;
using test::contains;

namespace {

std::string load_message(const std::filesystem::path& path) {
  return test::message_of<InputError>([&] { (void)load_recipe(path); });
}

std::string message_for(const test::TemporaryFolder& folder, const std::string& text) {
  write_file(folder / "r.json", text);
  return load_message(folder / "r.json");
}

}  // namespace

TEST_SUITE("files/recipe") {
  TEST_CASE("what was saved is loaded bit for bit, with the tag") {
    const test::TemporaryFolder folder;
    const json recipe = {{"keep", "15%"},
                         {"scale", 1.5},
                         {"third", 1.0 / 3.0},
                         {"tiny", 5e-324},
                         {"frames", 9007199254740993},
                         {"name", "Krater \xC3\xA4\xE2\x98\xBE"},
                         {"layers", {0.1, 0.2, 0.3}}};
    save_recipe(folder / "a.recipe.json", recipe);
    json expected = recipe;
    expected["lull_recipe"] = 1;
    CHECK(load_recipe(folder / "a.recipe.json") == expected);
    CHECK(folder.names() == std::vector<std::string>{"a.recipe.json"});
    // For people: one entry a line.
    CHECK(contains(test::text_of(folder / "a.recipe.json"), "\n  \"keep\": \"15%\",\n"));
  }

  TEST_CASE("a malformed file is refused with line and column") {
    const test::TemporaryFolder folder;
    // The comma at the end of line 2 promises an entry; line 3, column 1 has '}' (RFC 8259, 4).
    CHECK(contains(message_for(folder, "{\n\"lull_recipe\": 1,\n}\n"), "line 3, column 1"));
    CHECK(contains(message_for(folder, "{\"lull_recipe\": 1, keep: 3}"), "line 1, column 20"));
    CHECK(contains(message_for(folder, ""), "line 1, column 1"));
    CHECK(contains(message_for(folder, "{\"lull_recipe\": 1, \"a\": 1e999}"), "out of range"));
  }

  TEST_CASE("what is no recipe, or a later one, is refused") {
    const test::TemporaryFolder folder;
    CHECK(contains(message_for(folder, "{\"keep\": 3}"), "not a recipe"));
    CHECK(contains(message_for(folder, "[1, 2]"), "not a recipe"));
    CHECK(contains(message_for(folder, "{\"lull_recipe\": 2}"), "reads 1"));
    CHECK(contains(load_message(folder / "missing.json"), "there is no such file"));
    CHECK(contains(load_message(folder.path()), "it is a folder"));
  }

  TEST_CASE("hostile files are refused early") {
    const test::TemporaryFolder folder;
    CHECK(contains(message_for(folder, "{\"lull_recipe\": 1, \"a\": " + std::string(1000000, '[')),
                   "nested deeper"));
    write_file(folder / "big.json", std::string((std::size_t{16} << 20U) + 1, ' '));
    CHECK(contains(load_message(folder / "big.json"), "larger than 16 MiB"));
  }

  TEST_CASE("a text that is not UTF-8 loses no recipe: its bytes are escaped") {
    const test::TemporaryFolder folder;
    save_recipe(folder / "r.json", {{"note", "\xFF\xFE.tif and \xC3\xA9"}});
    CHECK(load_recipe(folder / "r.json").at("note") == "%FF%FE.tif and \xC3\xA9");
  }
}
