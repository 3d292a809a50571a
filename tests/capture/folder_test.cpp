// Covers: capture/sequence_names, capture/fits_axes, capture/plain_file
#include "capture/folder.h"

#include <doctest/doctest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <set>

#include "capture/fits_axes.h"
#include "capture/sequence_names.h"
#include "core/error.h"
#include "support/samples.h"
#include "support/temporary_folder.h"

TEST_SUITE("capture/folder") {
  namespace {

  using namespace lull::capture;
  using lull::test::sample;
  using lull::test::TemporaryFolder;
  namespace fs = std::filesystem;

  void write(const fs::path& path, const std::string& text = "x") {
    fs::create_directories(path.parent_path());
    std::ofstream(path) << text;
  }

  std::set<std::string> names_in(const TemporaryFolder& folder) {
    std::set<std::string> names;
    for (const FoundCapture& found :
         captures_in(folder.path(), fs::path(folder.path()) / "results").captures)
      names.insert((fs::path(found.folder) / found.name).string());
    return names;
  }

  std::string pattern_of(const std::vector<std::string>& digits) {
    SequenceNumbers numbers;
    for (const std::string& one : digits) numbers.add(one);
    return numbers.pattern("m_", ".png");
  }

  }  // namespace

  TEST_CASE("videos, cubes and sequences are captures; single pictures and others are not") {
    const TemporaryFolder folder;
    for (const char* name : {"moon.ser", "MARS.AVI", "a b.mkv", "notes.txt", "one.png", "two.tif",
                             ".hidden.ser", "moon.linear.fits", "deep/er/sun.mp4",
                             "results/moon.mkv", "1/2/3/4/in.ser", "1/2/3/4/5/out.ser"})
      write(folder / name);
    for (int i = 7; i < 12; ++i) write(folder / ("s_" + std::to_string(i) + ".png"));
    for (int i = 0; i < 3; ++i) write(folder / ("100%_00" + std::to_string(i) + ".tif"));
    for (int i = 0; i < 2; ++i) write(folder / ("few_" + std::to_string(i) + ".png"));
    fs::copy_file(sample("globe_cube.fits"), folder / "cube.fits");
    fs::copy_file(sample("highland.truth.fits"), folder / "picture.fits");
    CHECK(names_in(folder) == std::set<std::string>{"moon.ser", "MARS.AVI", "a b.mkv", "cube.fits",
                                                    "deep/er/sun.mp4", "1/2/3/4/in.ser", "s_%d.png",
                                                    "100%%_%03d.tif"});
  }

  TEST_CASE("a sequence has the bytes of its pictures, and their number") {
    const TemporaryFolder folder;
    for (int i = 0; i < 4; ++i) write(folder / ("m_000" + std::to_string(i) + ".png"), "12345");
    const auto found = captures_in(folder.path(), "").captures;
    REQUIRE(found.size() == 1);
    CHECK(found[0].pictures == 4);
    CHECK(found[0].bytes == 20);
    CHECK(found[0].path == folder.file("m_%04d.png"));
  }

  TEST_CASE("numbers filled up with zeros keep their width") {
    CHECK(pattern_of({"0007", "0042", "1000"}) == "m_%04d.png");
    CHECK(pattern_of({"7", "42"}) == "m_%d.png");
    CHECK(pattern_of({"1001", "1002"}) == "m_%04d.png");
    CHECK(pattern_of({"08", "09", "10", "100"}) == "m_%02d.png");
    CHECK_FALSE(NumberedName::parse("moon.png"));
    CHECK_FALSE(NumberedName::parse("1234567890123456789.png"));
    CHECK(NumberedName::parse("a1b22c.png")->digits == "22");
    CHECK(NumberedName::parse("a1b22c.png")->after == "c.png");
  }

  TEST_CASE("links that lead out, pipes and devices are passed over; a link within is a capture") {
    const TemporaryFolder folder;
    const TemporaryFolder outside;
    write(outside / "secret.ser");
    write(folder / "moon.ser");
    fs::create_symlink(outside.file("secret.ser"), folder / "out.ser");
    fs::create_symlink("../" + outside.path(), folder / "gone.ser");
    fs::create_directory_symlink(outside.path(), folder / "door");
    fs::create_directory_symlink(".", folder / "circle");
    fs::create_symlink("moon.ser", folder / "same.ser");
    fs::create_symlink("/dev/zero", folder / "zero.ser");
    REQUIRE(::mkfifo((folder / "pipe.ser").c_str(), 0600) == 0);
    CHECK(names_in(folder) == std::set<std::string>{"moon.ser", "same.ser"});
    const auto problems = captures_in(folder.path(), "").problems;
    REQUIRE(problems.size() == 1);
    CHECK(problems[0].what == folder.file("gone.ser") +
                                  " and 2 more are left out: links that lead out of the folder, or "
                                  "to nothing");
  }

  TEST_CASE("captures that lie too deep are told of") {
    const TemporaryFolder folder;
    write(folder / "1/2/3/4/near.ser");
    write(folder / "1/2/3/4/5/far.ser");
    write(folder / "1/2/3/4/notes/list.txt");
    CHECK(names_in(folder) == std::set<std::string>{"1/2/3/4/near.ser"});
    const auto problems = captures_in(folder.path(), "").problems;
    REQUIRE(problems.size() == 1);
    CHECK(problems[0].what ==
          folder.file("1/2/3/4/5/far.ser") + " is left out: more than 4 folders deep");
  }

  TEST_CASE("the axes of FITS files are read from their headers, and of others there are none") {
    const auto axes = fits_axes(sample("globe_cube.fits"));
    REQUIRE(axes.size() == 3);
    CHECK(axes[2] > 3);
    CHECK(fits_axes(sample("highland.truth.fits")).size() == 2);
    CHECK(is_fits_cube(sample("globe_cube.fits")));
    CHECK_FALSE(is_fits_cube(sample("highland.truth.fits")));
    CHECK(fits_axes(sample("highland.mkv")).empty());
    CHECK(fits_axes("/nowhere").empty());
    const TemporaryFolder folder;
    write(folder / "cut.fits", "SIMPLE  =                    T");
    CHECK(fits_axes(folder / "cut.fits").empty());
  }

  TEST_CASE("an id follows from the name alone and differs from others") {
    // Published values of FNV-1a of 64 bits: draft-eastlake-fnv, appendix C (from memory).
    CHECK(id_of("") == "cbf29ce484222325");
    CHECK(id_of("a") == "af63dc4c8601ec8c");
    CHECK(id_of("foobar") == "85944171f73967e8");
  }

  TEST_CASE("what lies within a folder is known with its links followed") {
    const TemporaryFolder folder;
    write(folder / "in/a.ser");
    fs::create_symlink("/etc", folder / "etc");
    CHECK(lies_within(folder / "in/a.ser", folder.path()));
    CHECK(lies_within(folder / "in/not there", folder.path()));
    CHECK_FALSE(lies_within(folder / "in/../../x", folder.path()));
    CHECK_FALSE(lies_within(folder / "etc/passwd", folder.path()));
    CHECK_FALSE(lies_within(folder.path(), folder.path()));
    CHECK_FALSE(lies_within(folder.path() + "x/a.ser", folder.path()));
  }

  TEST_CASE("a folder that cannot be read is reported, one below it by name") {
    const TemporaryFolder folder;
    CHECK_THROWS_AS(static_cast<void>(captures_in(folder.file("nowhere"), "")), lull::InputError);
    if (::geteuid() == 0) return;  // root reads everything
    write(folder / "locked/a.ser");
    fs::permissions(folder / "locked", fs::perms::none);
    const auto content = captures_in(folder.path(), "");
    fs::permissions(folder / "locked", fs::perms::owner_all);
    REQUIRE(content.problems.size() == 1);
    CHECK(content.problems[0].what.find("locked") != std::string::npos);
  }
}
