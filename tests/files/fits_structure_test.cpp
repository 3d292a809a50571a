// Covers: files/fits_structure, files/fits_pointer
#include "files/fits_structure.h"

#include <doctest/doctest.h>
#include <sys/stat.h>

#include <sstream>
#include <string>
#include <vector>

#include "core/error.h"
#include "files/fits_pointer.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;
using test::contains;

namespace {

struct Made {
  test::TemporaryFolder folder;
  std::vector<std::string> names;

  Made() {
    std::istringstream lines(test::reference_of("files/fits_structures.py", {folder.path()}));
    for (std::string name; std::getline(lines, name);) names.push_back(name);
  }

  /// What is said against the file; empty: it is accepted.
  [[nodiscard]] std::string refusal_of(const std::string& name) const {
    try {
      static_cast<void>(check_fits_structure(folder.file(name + ".fits")));
    } catch (const InputError& error) {
      return error.what();
    }
    return {};
  }
};

const Made& made() {
  static const Made files;
  return files;
}

}  // namespace

TEST_SUITE("files/fits_structure") {
  TEST_CASE("what astropy writes is accepted, and CFITSIO finds the same extensions") {
    int good = 0;
    for (const std::string& name : made().names) {
      if (!name.starts_with("good_")) continue;
      CAPTURE(name);
      CHECK(made().refusal_of(name).empty());
      CHECK(open_fits(made().folder.file(name + ".fits")) != nullptr);
      ++good;
    }
    CHECK(good == 9);
  }

  TEST_CASE("every header that breaks the standard or a limit is refused before CFITSIO sees it") {
    int bad = 0;
    for (const std::string& name : made().names) {
      if (!name.starts_with("bad_")) continue;
      CAPTURE(name);
      CHECK(contains(made().refusal_of(name), "cannot read '"));
      CHECK_THROWS_AS(static_cast<void>(open_fits(made().folder.file(name + ".fits"))), InputError);
      ++bad;
    }
    CHECK(bad == 49);
  }

  TEST_CASE("a refusal says which header, which keyword, and what is supported") {
    CHECK(contains(made().refusal_of("bad_naxis_110"),
                   "its header is damaged or not supported: NAXIS is 110; 0 to 4 are supported"));
    CHECK(contains(made().refusal_of("bad_extension_naxis_110"), "its extension 1 is damaged"));
    CHECK(contains(made().refusal_of("bad_hierarch"), "PCOUNT has no value"));
    CHECK(contains(made().refusal_of("bad_twice"), "NAXIS occurs twice"));
    CHECK(contains(made().refusal_of("bad_product"), "larger than any file"));
    CHECK(contains(made().refusal_of("bad_compressed_RICE_1"), "unpack it first"));
    CHECK(contains(made().refusal_of("bad_cut_header"), "ends before its END card"));
  }

  TEST_CASE("a named pipe is refused at once") {
    const test::TemporaryFolder folder;
    const std::string pipe = folder.file("pipe.fits");
    REQUIRE(::mkfifo(pipe.c_str(), 0600) == 0);
    CHECK_THROWS_WITH_AS(static_cast<void>(check_fits_structure(pipe)),
                         doctest::Contains("it is a pipe or a device"), InputError);
  }
}
