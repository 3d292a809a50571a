#include "files/left_files.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <ctime>
#include <filesystem>
#include <set>

#include "files/atomic_file.h"
#include "support/bytes.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::files;
namespace fs = std::filesystem;

namespace {

void make(const fs::path& path) { write_file(path, "x"); }

void make_old(const fs::path& path, int days) {
  make(path);
  const timespec then = {::time(nullptr) - days * 86400L, 0};
  const timespec times[2] = {then, then};
  REQUIRE(::utimensat(AT_FDCWD, path.c_str(), times, AT_SYMLINK_NOFOLLOW) == 0);
}

// A process that ends while it writes, as when it is killed.
void leave_file(const fs::path& target) {
  const pid_t child = ::fork();
  if (child == 0) {
    AtomicFile file(target);
    file.write("half");
    ::_exit(0);
  }
  REQUIRE(::waitpid(child, nullptr, 0) == child);
}

}  // namespace

TEST_SUITE("files/left_files") {
  TEST_CASE("what a killed process left is removed, what a living one writes is not") {
    const test::TemporaryFolder folder;
    AtomicFile own(folder / "a.txt");
    const auto living = folder.names();
    REQUIRE(living.size() == 1);
    leave_file(folder / "b.txt");
    leave_file(folder / "c.txt");
    REQUIRE(folder.names().size() == 3);
    remove_left_files(folder.path());
    CHECK(folder.names() == living);
  }

  TEST_CASE("a process id that is used again does not save the file of its earlier owner") {
    const test::TemporaryFolder folder;
    std::string name = temporary_name();
    // The third part is when the process began: this one did not begin with the system.
    const auto second = name.find('-', name.find('-', 6) + 1);
    const auto third = name.find('-', second + 1);
    name.replace(second + 1, third - second - 1, "1");
    make(folder / name);
    remove_left_files(folder.path());
    CHECK(folder.names().empty());
  }

  TEST_CASE("files of other systems go once nobody changed them for two days") {
    const test::TemporaryFolder folder;
    make_old(folder / ".lull-00000000-1-1-0123456789abcdef.part", 3);
    make_old(folder / ".lull-4711-0.part", 3);  // of earlier versions
    make_old(folder / ".lull-4711-0.part.tif", 3);
    make_old(folder / ".lull-00000000-1-1-0123456789abcdef.part.fits", 1);
    remove_left_files(folder.path());
    CHECK(folder.names() ==
          std::vector<std::string>{".lull-00000000-1-1-0123456789abcdef.part.fits"});
  }

  TEST_CASE("nothing else is touched") {
    const test::TemporaryFolder folder;
    for (const char* name : {".lull-notes.part", ".lull-1-2.part.tif.txt", "lull-1-2.part",
                             ".lull-1-2.parts", "moon.part", ".lull-1-2.part-old"})
      make_old(folder / name, 9);
    fs::create_directory(folder / ".lull-1-2.part");
    fs::create_symlink("moon.part", folder / ".lull-1-3.part");
    if (::geteuid() == 0) {  // another user's
      make_old(folder / ".lull-1-4.part", 9);
      REQUIRE(::chown((folder / ".lull-1-4.part").c_str(), 65534, 65534) == 0);
    }
    const auto before = folder.names();
    remove_left_files(folder.path());
    CHECK(folder.names() == before);
    remove_left_files(folder / "none");
  }

  TEST_CASE("names do not repeat") {
    std::set<std::string> names;
    for (int i = 0; i < 1000; ++i) names.insert(temporary_name());
    CHECK(names.size() == 1000);
  }
}
