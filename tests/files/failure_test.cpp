#include "files/failure.h"

#include <doctest/doctest.h>
#include <fcntl.h>
#include <unistd.h>

#include <cerrno>

#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using test::contains;

namespace {

// Error of the system on opening the path.
int error_of_opening(const std::string& path, int flags) {
  errno = 0;
  const int descriptor = ::open(path.c_str(), flags);
  const int error_number = errno;
  if (descriptor >= 0) ::close(descriptor);
  return error_number;
}

}  // namespace

TEST_SUITE("files/failure") {
  TEST_CASE("a read that the system refuses is explained, with what to do") {
    const test::TemporaryFolder folder;
    const auto why = [](const std::string& path) {
      return files::read_failure(error_of_opening(path, O_RDONLY));
    };
    CHECK(contains(why(folder.file("none.tif")), "there is no such file; check the name"));
    CHECK(contains(why(folder.file("none/none.tif")), "there is no such file; check the name"));
    CHECK(files::read_failure(error_of_opening(folder.path(), O_WRONLY)) == "it is a folder");
    CHECK(contains(files::read_failure(EACCES), "no permission to read it; check"));
    CHECK(files::read_failure(0) == "it cannot be opened");
    CHECK(contains(files::read_failure(EIO), "error"));  // the system's own words
  }

  TEST_CASE("a write that the system refuses names the folder and what to do") {
    const test::TemporaryFolder folder;
    const std::string lost = folder.file("none/a.tif");
    const int error_number = error_of_opening(lost, O_WRONLY | O_CREAT);
    CHECK(files::write_failure(lost, error_number) ==
          "there is no folder '" + folder.file("none") + "'; create it, or choose another place");
    CHECK(contains(files::write_failure("a.tif", ENOSPC), "the disk that holds '.' is full"));
    CHECK(std::string(files::cannot_write(lost, 0).what()) ==
          "cannot write '" + lost + "': writing failed; the disk may be full or was removed");
  }
}
