#include "run/outputs.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "core/error.h"
#include "support/bytes.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::run;
using test::contains;

TEST_SUITE("run/outputs") {
  TEST_CASE("names follow that of the input, into the working folder") {
    CHECK(name_after("night/mars.ser", "_stack.tif") == "mars_stack.tif");
    CHECK(name_after("mars_%04d.png", "_stack.tif") == "mars_stack.tif");
    CHECK(name_after("%d.fits", "_stack.tif") == "frames_stack.tif");
    CHECK(name_after("a.b/mars.2024.ser", "_stack.tif") == "mars.2024_stack.tif");
    CHECK(name_after("mars_stack.linear.fits", "_finished.tif") == "mars_stack_finished.tif");
    const test::TemporaryFolder folder;
    std::filesystem::create_directory(folder.file("darks.2024"));
    for (const char* name : {"darks.2024", "darks.2024/"})
      CHECK(name_after(folder.file(name), "_dark.fits") == "darks.2024_dark.fits");
  }

  TEST_CASE("all files in the way are named, and --overwrite lets them go") {
    const test::TemporaryFolder folder;
    for (const char* name : {"a.tif", "a.html"}) std::ofstream(folder.file(name)) << "old";
    const std::vector<std::string> results = {folder.file("a.tif"), "", folder.file("a.json"),
                                              folder.file("a.html")};
    const auto message =
        test::message_of<OutputError>([&] { check_results(results, {}, Resources{}); });
    CHECK(contains(message, folder.file("a.tif") + ", " + folder.file("a.html") + " exist"));
    CHECK(contains(message, "--overwrite"));
    CHECK_FALSE(contains(message, "a.json"));
    CHECK_NOTHROW(check_results(results, {}, {.existing = ExistingFiles::replace}));
  }

  TEST_CASE("a file that appears during the run stays as it is, and no result appears") {
    const test::TemporaryFolder folder;
    const auto add = [&](files::Results& results, const char* name) {
      results.add(folder.file(name), [](const auto& path) { std::ofstream(path) << "new"; });
    };
    files::Results results;
    for (const char* name : {"a.tif", "a.html"}) add(results, name);
    std::ofstream(folder.file("a.html")) << "old";
    const auto message = test::message_of<OutputError>([&] { commit(results, Resources{}); });
    CHECK(contains(message, folder.file("a.html") + " exists already"));
    CHECK(test::text_of(folder.file("a.html")) == "old");
    CHECK_FALSE(std::filesystem::exists(folder.file("a.tif")));
    commit(results, {.existing = ExistingFiles::replace});
    for (const char* name : {"a.tif", "a.html"}) CHECK(test::text_of(folder.file(name)) == "new");
  }

  TEST_CASE("no result is an input or another result, whatever else is allowed") {
    const test::TemporaryFolder folder;
    std::ofstream(folder.file("in.ser")) << "frames";
    std::filesystem::create_symlink(folder.file("in.ser"), folder.file("link.ser"));
    const Resources free{.existing = ExistingFiles::replace};
    for (const char* name : {"in.ser", "link.ser", "./in.ser"}) {
      CHECK_THROWS_WITH_AS(check_results({folder.file(name)}, {folder.file("in.ser")}, free),
                           doctest::Contains("would be overwritten"), UsageError);
    }
    CHECK_THROWS_WITH_AS(
        check_results({folder.file("a_0012.png")}, {folder.file("a_%04d.png")}, free),
        doctest::Contains("of the sequence"), UsageError);
    CHECK_THROWS_WITH_AS(check_results({folder.file("x"), folder.file("./x")}, {}, free),
                         doctest::Contains("cannot have the same name"), UsageError);
    CHECK_THROWS_AS(check_results({folder.file("none/x")}, {}, free), OutputError);
  }
}
