// Covers: survey/outlier_cells
#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "core/progress.h"
#include "lab/presets.h"
#include "lab/simulator.h"
#include "lab/truth_read.h"
#include "quality/agreement.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using test::run_lull;
using test::TemporaryFolder;

namespace {

struct Ranked {
  std::vector<double> sharpness;
  std::vector<double> strehl;
  std::vector<bool> crossed;
  std::vector<bool> usable;

  // Share of the frames that are sharper.
  [[nodiscard]] double place_of(std::size_t frame) const {
    double sharper = 0;
    for (std::size_t i = 0; i < sharpness.size(); ++i)
      sharper += usable[i] && sharpness[i] > sharpness[frame] ? 1 : 0;
    return sharper / static_cast<double>(sharpness.size());
  }

  // Of the frames that can be used, with the truth.
  [[nodiscard]] double agreement() const {
    std::vector<double> scores;
    std::vector<double> truth;
    for (std::size_t i = 0; i < sharpness.size(); ++i) {
      if (!usable[i]) continue;
      scores.push_back(sharpness[i]);
      truth.push_back(strehl[i]);
    }
    return quality::spearman(scores, truth);
  }
};

Ranked ranked(const char* preset, double crossed) {
  lab::Parameters p = lab::preset(preset).parameters;
  p.frames = 120;
  p.calibration_frames = 0;
  p.faults = {0, 0, 0, 0, crossed};
  const TemporaryFolder folder;
  const std::filesystem::path capture = lab::simulate(p, folder.path(), Progress{});
  const std::string table = folder.file("rank.csv");
  const test::Run done = run_lull({"rank", capture.string(), "--csv", table, "--quiet"});
  CAPTURE(done.errors);
  REQUIRE(done.status == 0);
  Ranked out;
  std::ifstream lines(table);
  std::string line;
  std::getline(lines, line);
  while (std::getline(lines, line)) {
    if (line.ends_with('\r')) line.pop_back();  // lines end as RFC 4180 says
    std::stringstream fields(line);
    std::string field;
    // Columns: frame, time, sharpness, brightness, shift x and y, flags (why it is left out).
    for (int i = 0; i < 3; ++i) std::getline(fields, field, ',');
    out.sharpness.push_back(std::stod(field));
    for (int i = 3; i < 7; ++i) std::getline(fields, field, ',');
    out.usable.push_back(field.empty());
  }
  for (const lab::FrameTruth& frame : lab::read_frame_table(folder.file(p.name + ".truth.fits"))) {
    out.strehl.push_back(frame.strehl_tilt_removed);
    out.crossed.push_back(frame.fault == "crossed");
  }
  REQUIRE(out.sharpness.size() == out.strehl.size());
  return out;
}

}  // namespace

TEST_SUITE("proof/tracks") {
  // The lab's truth; the bounds are what the project asks of itself, no source.
  TEST_CASE("a bright track makes no frame sharp, and clean captures are ranked as before") {
    // Not discs: a track across the limb may mislead the tracker, and then the cells do not match.
    for (const char* preset : {"moon-close-fair", "moon-terminator-poor", "sun-surface-good"}) {
      CAPTURE(preset);
      const Ranked clean = ranked(preset, 0);
      const Ranked struck = ranked(preset, 0.08);
      const double rho_clean = clean.agreement();
      const double rho_struck = struck.agreement();
      CAPTURE(rho_clean);
      CAPTURE(rho_struck);
      CHECK(rho_struck > rho_clean - 0.03);
      int crossed = 0;
      double moved = 0;
      for (std::size_t i = 0; i < struck.crossed.size(); ++i) {
        if (!struck.crossed[i] || !struck.usable[i]) continue;
        ++crossed;
        moved += std::abs(struck.place_of(i) - clean.place_of(i));
      }
      REQUIRE(crossed >= 4);
      CHECK(moved / crossed < 0.1);  // of all places, on the mean; counted: 0.53 to 0.58
    }
  }
}
