#include "files/results.h"

#include <doctest/doctest.h>

#include <filesystem>

#include "support/bytes.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;
namespace fs = std::filesystem;

namespace {

void add_text(Results& results, const fs::path& target, const std::string& text) {
  results.add(target.string(), [&](const fs::path& path) { write_file(path, text); });
}

}  // namespace

TEST_SUITE("files/results") {
  TEST_CASE("results appear together") {
    const test::TemporaryFolder folder;
    write_file(folder / "a.txt", "earlier");
    Results results;
    add_text(results, folder / "a.txt", "new");
    add_text(results, folder / "b.txt", "new");
    CHECK(test::text_of(folder / "a.txt") == "earlier");
    CHECK(!fs::exists(folder / "b.txt"));
    results.commit();
    CHECK(test::text_of(folder / "a.txt") == "new");
    CHECK(test::text_of(folder / "b.txt") == "new");
    CHECK(folder.names() == std::vector<std::string>{"a.txt", "b.txt"});
  }

  TEST_CASE("where the last cannot be renamed, those before it are taken back") {
    const test::TemporaryFolder folder;
    write_file(folder / "a.txt", "earlier");
    {
      Results results;
      add_text(results, folder / "a.txt", "new");
      add_text(results, folder / "b.txt", "new");
      add_text(results, folder / "c.txt", "new");
      fs::create_directory(folder / "c.txt");  // somebody takes the name meanwhile
      const std::string message = test::message_of<OutputError>([&] { results.commit(); });
      CHECK(test::contains(message, "c.txt': there is a folder of that name"));
      CHECK(!test::contains(message, "Already replaced"));
    }
    CHECK(test::text_of(folder / "a.txt") == "earlier");
    CHECK(folder.names() == std::vector<std::string>{"a.txt", "c.txt"});
  }
}
