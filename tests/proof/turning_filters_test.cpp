#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "align/spline_plane.h"
#include "core/progress.h"
#include "core/statistics.h"
#include "files/fits.h"
#include "lab/simulator.h"
#include "lab/turning_worlds.h"
#include "sky/aspect.h"
#include "support/detail_shift.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

// Red, green and blue of a turning Jupiter, five minutes apart, each through air of its own: as
// they are, and brought to one moment before they are merged.

using namespace lull;

TEST_SUITE("proof/turning_filters") {
  namespace {

  constexpr double kScale = 2;  // of the map, pixels a degree
  constexpr int kWindow_px = 48;
  constexpr int kStep_px = 24;
  constexpr double kReach_deg = 48;
  constexpr double kRadius_px = 92;
  const char* const kMoment = "2026-11-30T04:00:00";

  void run(const std::vector<std::string>& words) {
    const test::Run done = test::run_lull(words);
    CAPTURE(done.errors);
    REQUIRE(done.status == 0);
  }

  // A stack of one filter, and the same at the moment.
  void stack_filter(const test::TemporaryFolder& folder, const std::string& filter,
                    const std::string& utc, std::uint64_t recording) {
    lab::Parameters p = lab::turning_worlds().front().parameters;
    p.name = filter;
    p.frames = 120;
    p.recording = recording;
    p.scene.utc = utc;
    p.scene.clouds_utc = kMoment;
    p.air.d_over_r0 = 3;
    p.camera.filter = filter;
    p.camera.frames_per_s = 4;
    static_cast<void>(lab::simulate(p, folder.path(), Progress{}));
    run({"stack", folder.file(filter + ".mkv"), "-o", folder.file(filter + ".tif"), "--keep", "30%",
         "--fusion", "selection", "--object", "jupiter", "--report", "none", "--quiet"});
    run({"derotate", folder.file(filter + ".linear.fits"), "--north", "12", "--to", kMoment, "-o",
         folder.file(filter + ".turned.fits"), "--quiet"});
  }

  // How far detail of two colours lies apart on a map, within 60 degrees of the disc's middle:
  // median of windows, degrees, which are as many times 1.6 px of the picture there.
  double apart_deg(const Plane& one, const Plane& other, double middle_west_deg) {
    const int x0 = static_cast<int>((360 - middle_west_deg) * kScale);
    const int y0 = one.height() / 2;
    const align::SplinePlane smooth(other.view());
    std::vector<double> apart;
    for (int y = -3 * kStep_px; y <= 3 * kStep_px; y += kStep_px) {
      for (int x = -3 * kStep_px; x <= 3 * kStep_px; x += kStep_px) {
        if (std::hypot(x, y) > kReach_deg * kScale) continue;
        const int left = x0 + x - kWindow_px / 2;
        const int top = y0 + y - kWindow_px / 2;
        const Box box{left, top, left + kWindow_px, top + kWindow_px};
        const Displacement shift = test::detail_shift(one.view(), smooth, box);
        apart.push_back(std::hypot(shift.x_px, shift.y_px) / kScale);
      }
    }
    REQUIRE(apart.size() > 15);
    return median(std::move(apart));
  }

  // Of red and blue against green.
  double fringes_px(const test::TemporaryFolder& folder, const std::string& kind) {
    const auto stack = [&](const char* filter) { return folder.file(filter + kind + ".fits"); };
    run({"merge", "--red", stack("red"), "--green", stack("green"), "--blue", stack("blue"), "-o",
         folder.file("m" + kind + ".tif"), "--report", "none", "--quiet"});
    const std::string map = folder.file("map" + kind + ".fits");
    run({"derotate", folder.file("m" + kind + ".linear.fits"), "--object", "jupiter", "--north",
         "12", "--to", kMoment, "--map", map, "--map-scale", "2", "--quiet"});
    files::Picture flat = files::read_fits(map).picture;
    for (Plane& plane : flat.channels) {
      for (int y = 0; y < plane.height(); ++y)
        std::replace_if(
            plane.row(y), plane.row(y) + plane.width(), [](float v) { return std::isnan(v); },
            0.0F);
    }
    const double middle_west_deg =
        sky::central_meridian_deg(sky::Body::jupiter, sky::Observer(*parse_iso8601(kMoment)));
    return kRadius_px * sky::kDegree *
           std::max(apart_deg(flat.channels[1], flat.channels[0], middle_west_deg),
                    apart_deg(flat.channels[1], flat.channels[2], middle_west_deg));
  }

  }  // namespace

  TEST_CASE("filters five minutes apart meet within 0.25 px once they are of one moment") {
    const test::TemporaryFolder folder;
    stack_filter(folder, "red", "2026-11-30T03:55:00", 1);
    stack_filter(folder, "green", kMoment, 2);
    stack_filter(folder, "blue", "2026-11-30T04:05:00", 3);
    const double turned = fringes_px(folder, ".turned");
    const double as_they_are = fringes_px(folder, ".linear");
    CAPTURE(turned);
    CAPTURE(as_they_are);
    CHECK(turned < 0.25);
    CHECK(as_they_are > 8 * turned);
  }
}
