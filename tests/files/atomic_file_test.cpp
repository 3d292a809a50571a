#include "files/atomic_file.h"

#include <doctest/doctest.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <functional>
#include <stdexcept>

#include "files/failure.h"
#include "files/fits.h"
#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/child.h"
#include "support/pictures.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;
namespace fs = std::filesystem;
using test::contains;

namespace {

std::string open_message(const fs::path& path) {
  return test::message_of<OutputError>([&] { const AtomicFile file(path); });
}

/// Writes beyond the limit fail with EFBIG (POSIX.1-2017, setrlimit), like those on a full disk.
void limit_file_size() {
  ::signal(SIGXFSZ, SIG_IGN);
  const rlimit limit = {20000, 20000};
  ::setrlimit(RLIMIT_FSIZE, &limit);
}

/// Permissions do not bind the superuser.
void become_nobody() {
  if (::getuid() != 0) return;
  if (::setgid(65534) != 0 || ::setuid(65534) != 0) ::_exit(2);
}

}  // namespace

TEST_SUITE("files/atomic_file") {
  TEST_CASE("the target changes at commit and not before") {
    const test::TemporaryFolder folder;
    write_file(folder / "result.txt", "earlier");
    {
      AtomicFile file(folder / "result.txt");
      file.write("new");
      CHECK(test::text_of(folder / "result.txt") == "earlier");
      CHECK(folder.names().size() == 2);
      file.commit();
    }
    CHECK(test::text_of(folder / "result.txt") == "new");
    CHECK(folder.names() == std::vector<std::string>{"result.txt"});
  }

  TEST_CASE("an exception leaves the earlier result and no temporary") {
    const test::TemporaryFolder folder;
    write_file(folder / "result.txt", "earlier");
    const auto interrupted = [&] {
      AtomicFile file(folder / "result.txt");
      file.write("half");
      throw Interrupted();
    };
    CHECK_THROWS_AS(interrupted(), Interrupted);
    CHECK(test::text_of(folder / "result.txt") == "earlier");
    CHECK(folder.names() == std::vector<std::string>{"result.txt"});
  }

  TEST_CASE("places that cannot be written are refused, each with its reason") {
    const test::TemporaryFolder folder;
    fs::create_directory(folder / "sub.tif");
    write_file(folder / "plain", "x");
    CHECK(contains(open_message(folder / "none" / "a.tif"), "there is no folder"));
    CHECK(contains(open_message(folder / "plain" / "a.tif"), "there is no folder"));
    CHECK(contains(open_message(folder / "sub.tif"), "there is a folder of that name"));
    CHECK(contains(open_message(folder / ""), "there is a folder of that name"));
    CHECK(contains(open_message(folder / std::string(300, 'a')), "name is too long"));
    CHECK(contains(open_message("/dev/null"), "device"));
    CHECK(contains(open_message(""), "empty"));
    CHECK(folder.names() == std::vector<std::string>{"plain", "sub.tif"});
  }

  TEST_CASE("missing permissions are reported, for folders and for a protected result") {
    const test::TemporaryFolder folder;
    fs::permissions(folder.path(), fs::perms{0755});
    write_file(folder / "a.tif", "earlier");
    fs::permissions(folder / "a.tif", fs::perms{0444});
    fs::create_directory(folder / "open");
    write_file(folder / "open" / "b.tif", "earlier");
    fs::permissions(folder / "open", fs::perms{0777});
    fs::permissions(folder / "open" / "b.tif", fs::perms{0444});
    if (::getuid() != 0) fs::permissions(folder.path(), fs::perms{0555});
    for (const char* name : {"a.tif", "new.tif", "open/b.tif"}) {
      CAPTURE(name);
      const auto write = [&] { write_file(folder / name, "later"); };
      CHECK(contains(test::message_in_child(become_nobody, write), "no permission"));
    }
    fs::permissions(folder.path(), fs::perms{0755});
    CHECK(test::text_of(folder / "a.tif") == "earlier");
    CHECK(folder.names() == std::vector<std::string>{"a.tif", "open"});
  }

  TEST_CASE("a full disk leaves the earlier result and no temporary, in every format") {
    const Picture picture = test::seeded_picture({120, 100}, 3, 1);
    for (const char* name : {"a.tif", "a.png", "a.fits", "a.txt"}) {
      CAPTURE(name);
      const test::TemporaryFolder folder;
      write_file(folder / name, "earlier");
      const auto write = [&] {
        const std::string text = name;
        if (text == "a.txt") {
          write_file(folder / name, std::string(30000, 'x'));
        } else {
          write_picture(folder / name, picture.view(), {}, {});
        }
      };
      const std::string message = test::message_in_child(limit_file_size, write);
      CHECK(contains(message, "cannot write"));
      CHECK(contains(message, name));
      CHECK(contains(message, "larger than the disk"));
      CHECK(test::text_of(folder / name) == "earlier");
      CHECK(folder.names() == std::vector<std::string>{name});
      CHECK(test::message_in_child([] {}, write).empty());
    }
  }

  TEST_CASE("the reason of a failed call becomes advice") {
    CHECK(contains(cannot_write("d/a.tif", ENOSPC).what(), "'d' is full; free some space"));
    CHECK(contains(cannot_write("a.tif", EDQUOT).what(), "'.' is full"));
    CHECK(contains(cannot_write("a.tif", EROFS).what(), "read-only disk"));
    CHECK(contains(cannot_write("a.tif", EIO).what(), "Input/output error"));
    CHECK(contains(cannot_write("a.tif", 0).what(), "may be full"));
  }

  TEST_CASE("a link is followed, permissions of the earlier result are kept") {
    const test::TemporaryFolder folder;
    fs::create_directory(folder / "disk");
    write_file(folder / "disk" / "real.txt", "earlier");
    fs::permissions(folder / "disk" / "real.txt", fs::perms{0640});
    fs::create_symlink("disk/real.txt", folder / "link.txt");
    write_file(folder / "link.txt", "new");
    CHECK(fs::is_symlink(folder / "link.txt"));
    CHECK(test::text_of(folder / "disk" / "real.txt") == "new");
    CHECK(fs::status(folder / "disk" / "real.txt").permissions() == fs::perms{0640});
  }

  TEST_CASE("a link to a file that is not there yet is written where it points to") {
    const test::TemporaryFolder folder;
    fs::create_directory(folder / "disk");
    fs::create_symlink("second.txt", folder / "first.txt");
    fs::create_symlink("disk/new.txt", folder / "second.txt");
    write_file(folder / "first.txt", "new");
    CHECK(fs::is_symlink(folder / "first.txt"));
    CHECK(fs::is_symlink(folder / "second.txt"));
    CHECK(test::text_of(folder / "disk" / "new.txt") == "new");
    fs::create_symlink("none/new.txt", folder / "lost.txt");
    CHECK(contains(open_message(folder / "lost.txt"), "there is no folder"));
    fs::create_symlink("b.txt", folder / "a.txt");
    fs::create_symlink("a.txt", folder / "b.txt");
    CHECK(contains(open_message(folder / "a.txt"), "leads back to itself"));
  }

  TEST_CASE("a new result gets the permissions that the umask allows") {
    const test::TemporaryFolder folder;
    const mode_t earlier = ::umask(027);
    write_file(folder / "a.txt", "x");
    write_picture(folder / "a.fits", make_picture({2, 2}, 1).view(), {}, {});
    ::umask(earlier);
    CHECK(fs::status(folder / "a.txt").permissions() == fs::perms{0640});
    CHECK(fs::status(folder / "a.fits").permissions() == fs::perms{0640});
  }

  TEST_CASE("unfinished files can be removed from outside; their commit fails") {
    const test::TemporaryFolder folder;
    AtomicFile first(folder / "a.txt");
    AtomicFile second(folder / "b.txt");
    CHECK(folder.names().size() == 2);
    remove_unfinished_files();
    CHECK(folder.names().empty());
    CHECK_THROWS_AS(first.commit(), OutputError);
    CHECK(folder.names().empty());
  }

  TEST_CASE("checking a place leaves nothing behind") {
    const test::TemporaryFolder folder;
    check_writable(folder / "a.tif");
    CHECK(folder.names().empty());
    CHECK_THROWS_AS(check_writable(folder / "none" / "a.tif"), OutputError);
  }
}
