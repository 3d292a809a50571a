#include "support/thirds.h"

#include <doctest/doctest.h>

#include "support/run_program.h"
#include "support/samples.h"

namespace lull::test {

namespace {

struct Thirds {
  TemporaryFolder folder;
  std::array<std::string, 3> files;

  Thirds() {
    // Cut differently, so that they lie beside each other.
    const std::array<std::pair<const char*, const char*>, 3> parts = {
        {{"0-65", "8,6,296,200"}, {"66-131", "4,8,296,200"}, {"132-197", "11,3,296,200"}}};
    for (std::size_t i = 0; i < parts.size(); ++i) {
      const std::string name = "third_" + std::to_string(i);
      const Run run = run_lull({"stack", sample("highland.mkv"), "-o", folder.file(name + ".tif"),
                                "--frames", parts[i].first, "--crop", parts[i].second, "--keep",
                                "50%", "--fusion", "selection", "--report", "none", "--quiet"});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      files[i] = folder.file(name + ".linear.fits");
    }
  }
};

}  // namespace

const std::array<std::string, 3>& stacked_thirds() {
  static const Thirds thirds;
  return thirds.files;
}

}  // namespace lull::test
