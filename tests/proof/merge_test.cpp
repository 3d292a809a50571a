#include <doctest/doctest.h>

#include <cmath>
#include <string>

#include "core/progress.h"
#include "files/picture_file.h"
#include "judge/judge.h"
#include "lab/simulator.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

// Two filters through different air, one with a shift, a turn and a scale of its own, against the
// truth in colour.

using namespace lull;

TEST_SUITE("proof/merge") {
  namespace {

  lab::Parameters globe(const std::string& name, const std::string& filter, std::uint64_t recording,
                        double d_over_r0) {
    lab::Parameters p;
    p.name = name;
    p.width_px = 136;
    p.height_px = 128;
    p.frames = 32;
    p.seed = 31;
    p.recording = recording;
    p.scene.kind = "sphere";
    p.scene.radius_px = 42;
    p.scene.axis_deg = -12;
    p.air.d_over_r0 = d_over_r0;
    p.camera.filter = filter;
    p.camera.peak_electrons = 6000;
    return p;
  }

  struct Figures {
    double red_error = 0;     // of the finished picture
    double red_shift_px = 0;  // against green, beyond that of the truth
  };

  class Filters {
   public:
    Filters() {
      lab::Parameters red = globe("r", "red", 2, 2);
      red.scene.axis_deg = -11.2;
      red.scene.radius_px = 42.4;
      red.scene.centre_x_px = 3.3;
      red.scene.centre_y_px = -2.1;
      lab::Parameters truth = globe("t", "none", 0, 4);
      truth.camera.colour = "rgb";
      truth.frames = 1;
      static_cast<void>(lab::simulate(truth, folder_.path(), Progress{}));
      for (const lab::Parameters& p : {red, globe("g", "green", 1, 5)}) {
        static_cast<void>(lab::simulate(p, folder_.path(), Progress{}));
        run({"stack", folder_.file(p.name + ".mkv"), "-o", folder_.file(p.name + ".tif"), "--keep",
             "50%", "--fusion", "selection", "--report", "none", "--quiet"});
      }
    }

    [[nodiscard]] Figures merged(const std::vector<std::string>& options) const {
      std::vector<std::string> words = {"merge",  "--red",    stack("r"),   "--green", stack("g"),
                                        "--blue", stack("g"), "-o",         picture(), "--report",
                                        "none",   "--quiet",  "--overwrite"};
      words.insert(words.end(), options.begin(), options.end());
      run(words);
      const judge::Verdict verdict = judge::judge(files::read_picture(picture()).picture,
                                                  judge::read_truth(folder_.file("t.truth.fits")));
      Figures out;
      out.red_error = verdict.channels.at(0).measures.nrmse;
      const Displacement shift = verdict.channels.at(0).shift - verdict.channels.at(1).shift;
      out.red_shift_px = std::hypot(shift.x_px, shift.y_px);
      return out;
    }

   private:
    [[nodiscard]] std::string stack(const std::string& name) const {
      return folder_.file(name + ".linear.fits");
    }

    [[nodiscard]] std::string picture() const { return folder_.file("m.fits"); }

    static void run(const std::vector<std::string>& words) {
      const test::Run done = test::run_lull(words);
      CAPTURE(done.errors);
      REQUIRE(done.status == 0);
    }

    test::TemporaryFolder folder_;
  };

  }  // namespace

  TEST_CASE("colours fall together to 0.25 px, and matched blur takes a third off the error") {
    const Filters filters;
    const Figures all = filters.merged({});
    CHECK(all.red_shift_px < 0.25);
    const Figures unmatched = filters.merged({"--blur-match", "off"});
    CHECK(all.red_error < 0.67 * unmatched.red_error);
  }
}
