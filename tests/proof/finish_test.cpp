#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "core/progress.h"
#include "core/statistics.h"
#include "files/fits_parts.h"
#include "files/picture_file.h"
#include "judge/judge.h"
#include "lab/presets.h"
#include "lab/simulator.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

// What automatic finishing makes of whole runs, held against the lab's truth.

using namespace lull;
using test::run_lull;
using test::TemporaryFolder;

namespace {

lab::Parameters disc_in(double d_over_r0) {
  lab::Parameters p;
  p.name = "disc";
  p.width_px = 160;
  p.height_px = 160;
  p.frames = 80;
  p.seed = 21;
  p.scene.kind = "sphere";
  p.scene.radius_px = 42;
  p.air.d_over_r0 = d_over_r0;
  p.camera.bits = 12;
  p.camera.stored_bits = 16;
  p.camera.offset_adu = 64;
  p.camera.read_noise_e = 3;
  return p;
}

struct Pictures {
  Plane linear;
  Plane finished;
  double noise = 0;  ///< standard deviation in the linear stack
  double error_linear = 0;
  double error_finished = 0;
};

Plane plane_of(const std::string& path) {
  return Plane::copy_of(files::read_picture(path).picture.channels.at(0).view());
}

Pictures pictures_of(double d_over_r0) {
  const TemporaryFolder folder;
  (void)lab::simulate(disc_in(d_over_r0), folder.path(), Progress{});
  const std::string linear = folder.file("out.linear.fits");
  const std::string finished = folder.file("out.fits");
  const test::Run done = run_lull({"stack", folder.file("disc.mkv"), "-o", finished, "--quiet"});
  CAPTURE(done.errors);
  REQUIRE(done.status == 0);
  Pictures out{plane_of(linear), plane_of(finished)};
  const auto halves = files::read_fits_image(linear, "NOISE");
  REQUIRE(halves);
  std::vector<float> sizes;
  const Plane& noise = halves->channels.at(0);
  for (int y = 0; y < noise.height(); ++y) {
    for (int x = 0; x < noise.width(); ++x) sizes.push_back(std::abs(noise.row(y)[x]));
  }
  out.noise = kMadToSigma * static_cast<double>(upper_median(std::move(sizes)));
  const judge::Truth truth = judge::read_truth(folder.file("disc.truth.fits"));
  const auto error = [&](const std::string& path) {
    return judge::judge(files::read_picture(path).picture, truth).channels.at(0).measures.nrmse;
  };
  out.error_linear = error(linear);
  out.error_finished = error(finished);
  return out;
}

// The sky at the picture's border, far from the disc.
double sky_of(const Plane& picture) {
  std::vector<float> border(picture.row(2), picture.row(2) + picture.width());
  return static_cast<double>(median(std::move(border)));
}

}  // namespace

TEST_SUITE("proof/finish") {
  TEST_CASE("finishing a disc halves its error at least, and digs no dark rim into the sky") {
    for (const double d_over_r0 : {4.0, 8.0}) {
      CAPTURE(d_over_r0);
      const Pictures p = pictures_of(d_over_r0);
      CHECK(p.error_finished < 0.5 * p.error_linear);
      // Four standard deviations: of 10,000 pixels one in three runs goes beyond, by chance.
      const double floor = sky_of(p.linear) - 4 * p.noise;
      int darker = 0;
      for (int y = 0; y < p.linear.height(); ++y) {
        for (int x = 0; x < p.linear.width(); ++x) {
          const auto before = static_cast<double>(p.linear.row(y)[x]);
          if (static_cast<double>(p.finished.row(y)[x]) < std::min(floor, before) - 1e-6) ++darker;
        }
      }
      CHECK(darker == 0);
    }
  }

  // The goal of the project's own: near the edges at most 1.3 times as far from the truth as
  // inside.
  TEST_CASE(
      "a picture cut by its frame is as right at the edges as inside, and better than the stack") {
    for (const char* name : {"disc-cut-fair", "moon-terminator-poor"}) {
      CAPTURE(name);
      lab::Parameters p = lab::preset(name).parameters;
      p.frames = 100;
      const TemporaryFolder folder;
      (void)lab::simulate(p, folder.path(), Progress{});
      const std::string finished = folder.file("out.fits");
      const std::string capture = folder.file(p.name + "." + p.container);
      const test::Run done = run_lull({"stack", capture, "-o", finished, "--quiet"});
      CAPTURE(done.errors);
      REQUIRE(done.status == 0);
      const judge::Truth truth = judge::read_truth(folder.file(p.name + ".truth.fits"));
      const auto edges_of = [&](const std::string& path) {
        judge::EdgeError mean;
        const judge::Verdict verdict = judge::judge(files::read_picture(path).picture, truth);
        for (const judge::ChannelVerdict& channel : verdict.channels) {
          mean.outer += channel.edge.outer / static_cast<double>(verdict.channels.size());
          mean.inside += channel.edge.inside / static_cast<double>(verdict.channels.size());
        }
        return mean;
      };
      const judge::EdgeError stack = edges_of(folder.file("out.linear.fits"));
      const judge::EdgeError after = edges_of(finished);
      CHECK(after.outer < 1.3 * after.inside);
      CHECK(after.outer < stack.outer);
    }
  }

  // 8 bit on a dark sky: the noise of the sky is a sixth of that of the disc. Taken for the noise
  // of the frames, it leaves the picture 8 dB below what the best isotropic filter makes of it.
  TEST_CASE("a cut disc on a dark sky comes near what the best isotropic filter makes of it") {
    lab::Parameters p = lab::preset("real-disc-cut").parameters;
    p.frames = 120;
    p.seed = 7;
    const TemporaryFolder folder;
    (void)lab::simulate(p, folder.path(), Progress{});
    const std::string finished = folder.file("out.fits");
    const test::Run done = run_lull({"stack", folder.file(p.name + "." + p.container), "-o",
                                     finished, "--keep", "75%", "--quiet"});
    CAPTURE(done.errors);
    REQUIRE(done.status == 0);
    const judge::Verdict verdict =
        judge::judge(files::read_picture(finished).picture,
                     judge::read_truth(folder.file(p.name + ".truth.fits")));
    double below = 0;
    for (const judge::ChannelVerdict& channel : verdict.channels) {
      const judge::Measures& measures = channel.without_distortion;
      below += (measures.psnr_best_radial - measures.psnr) /
               static_cast<double>(verdict.channels.size());
    }
    MESSAGE("dB below the best filter: " << below);
    CHECK(below < 4);
  }
}
