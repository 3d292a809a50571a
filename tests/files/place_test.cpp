#include "files/place.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <string>

#include "support/bytes.h"
#include "support/temporary_folder.h"

using namespace lull;

TEST_SUITE("files/place") {
  TEST_CASE("links are followed; what leads nowhere is no error") {
    const test::TemporaryFolder folder;
    test::write_file(folder.file("a"), test::Bytes(1));
    std::filesystem::create_symlink("a", folder.file("b"));
    std::filesystem::create_symlink("loop", folder.file("loop"));
    CHECK(files::place_of(folder.file("b")) == files::place_of(folder.file("a")));
    CHECK(files::same_file(folder.file("b"), folder.file("a")));
    CHECK(!files::same_file(folder.file("a"), folder.file("none")));
    CHECK(!files::same_file(folder.file("loop"), folder.file("loop")));
    CHECK(files::place_of(folder.file("loop")).filename() == "loop");
    std::filesystem::create_symlink("new", folder.file("dangling"));
    CHECK(files::place_of(folder.file("dangling")) == files::place_of(folder.file("new")));
    const std::string long_name = folder.file(std::string(5000, 'x'));
    CHECK(files::place_of(long_name) == long_name);
  }
}
