#include "report/fingerprint.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <string>

#include "core/error.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull;
using namespace lull::report;

class File {
 public:
  explicit File(const std::string& bytes) : path_(folder_ / "file") {
    std::ofstream(path_, std::ios::binary) << bytes;
  }

  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

  // Hexadecimal digits that a command of the shell prints for "$F", the name of this file.
  [[nodiscard]] std::string by(const std::string& command) const {
    const auto done = test::run_program({"sh", "-c", "F='" + path_.string() + "'; " + command});
    REQUIRE(done.output.size() > 64);
    return done.output.substr(0, 64);
  }

 private:
  test::TemporaryFolder folder_;
  std::filesystem::path path_;
};

}  // namespace

TEST_SUITE("report/fingerprint") {
  TEST_CASE("SHA-256 of the examples of FIPS 180-4") {
    // "abc" and the empty message: NIST's example values, from memory.
    CHECK(fingerprint_of(File("abc").path()).sha256 ==
          "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(fingerprint_of(File("").path()).sha256 ==
          "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
  }

  TEST_CASE("sha256sum gives the same for whole files, and of the ends of large ones") {
    const File small(std::string(3'000'001, 'x') + "end");
    const Fingerprint whole = fingerprint_of(small.path());
    CHECK(whole.coverage == Coverage::whole);
    CHECK(whole.bytes == 3'000'004);
    CHECK(whole.sha256 == small.by("sha256sum < \"$F\""));

    const File large("begin");
    std::filesystem::resize_file(large.path(), static_cast<std::uintmax_t>(kWholeBytes + 9));
    const Fingerprint ends = fingerprint_of(large.path());
    CHECK(ends.coverage == Coverage::ends);
    CHECK(ends.sha256 ==
          large.by("{ head -c 1048576 \"$F\"; tail -c 1048576 \"$F\"; } | sha256sum"));
  }

  TEST_CASE("a file that is gone is an error that names it") {
    CHECK_THROWS_WITH_AS(static_cast<void>(fingerprint_of("/nowhere/gone.ser")),
                         doctest::Contains("/nowhere/gone.ser"), InputError);
  }
}
