// Covers: run/run_derotate, run/surface_map, run/facing
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "files/fits.h"
#include "globe/globe_map.h"
#include "globe/rings.h"
#include "run/derotate_outcome.h"
#include "run/drawn_stacks.h"
#include "run/finish_input.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::run;

TEST_SUITE("run/derotate_saturn") {
  namespace {

  const Utc kMiddle = parse_iso8601("2028-11-20T22:00:00").value();
  constexpr double kRadius_px = 40;
  constexpr double kX_px = 109.4;
  constexpr double kY_px = 75.3;

  DrawnPlanet saturn() {
    return {.body = sky::Body::saturn, .middle = kMiddle, .size = {220, 150}, .noise = 0.004};
  }

  Pose pose_at(double later_s, double step = 0) {
    return {later_s, kX_px + 0.8 * step, kY_px - 0.5 * step, kRadius_px};
  }

  std::vector<std::string> series(const test::TemporaryFolder& folder) {
    std::vector<std::string> stacks;
    for (int i = -2; i <= 2; ++i)
      stacks.push_back(
          saturn().stack(folder, "s" + std::to_string(i) + ".fits", pose_at(420.0 * i, i)));
    return stacks;
  }

  DerotateRequest request_for(std::vector<std::string> stacks) {
    DerotateRequest request;
    request.stacks = std::move(stacks);
    request.object = Object::saturn;
    request.turning.north_deg = 20;
    request.turning.moment = kMiddle;
    return request;
  }

  double psnr_db(const Plane& truth, const Plane& other) {
    double sum = 0;
    int n = 0;
    for (int y = 5; y + 5 < truth.height(); ++y) {
      for (int x = 5; x + 5 < truth.width(); ++x) {
        const double d =
            static_cast<double>(truth.row(y)[x]) - static_cast<double>(other.row(y)[x]);
        sum += d * d;
        ++n;
      }
    }
    return 10 * std::log10(n / sum);
  }

  globe::GlobeView view_at(Utc moment) {
    const sky::Aspect aspect = sky::aspect_of(sky::Body::saturn, sky::Observer(moment));
    return {globe::shape_of(sky::Body::saturn, aspect),
            {kX_px, kY_px, kRadius_px, (20 - aspect.pole_deg) * sky::kDegree}};
  }

  }  // namespace

  TEST_CASE("Saturn of half an hour becomes that of one moment, rings and all") {
    const test::TemporaryFolder folder;
    const std::vector<std::string> stacks = series(folder);
    DerotateRequest request = request_for(stacks);
    request.output = folder.file("out.fits");
    const DerotateOutcome outcome = run_derotate(request, {});
    for (int i = 0; i < 5; ++i) {
      const DerotatedStack& stack = outcome.stacks[static_cast<std::size_t>(i)];
      CHECK(std::abs(stack.radius_px - kRadius_px) < 0.001 * kRadius_px);
      CHECK(std::hypot(stack.x_px - kX_px - 0.8 * (i - 2), stack.y_px - kY_px + 0.5 * (i - 2)) <
            0.1);
    }
    // 810.794 degrees a day (Archinal et al. 2018): an hour off moves longitudes by 33.8 degrees.
    CHECK(std::abs(std::abs(outcome.turn_deg_per_hour) - 33.78) < 0.03);
    CHECK(std::abs(outcome.stacks[0].turned_deg - 33.78 * 14 / 60) < 0.05);
    const Plane truth = saturn().at(pose_at(0));
    const FinishInput result = read_finish_input(request.output);
    REQUIRE(result.has_halves);
    const double one = psnr_db(truth, read_finish_input(stacks[2]).picture.channels[0]);
    const double all = psnr_db(truth, result.picture.channels[0]);
    CAPTURE(one);
    CAPTURE(all);
    // Five times the light would give 7 dB where nothing is hidden.
    CHECK(all > one + 4);
    // Nothing of the rings is taken for something that moves.
    for (const std::string& note : outcome.notes) CHECK(note.find("moves against") == note.npos);
  }

  TEST_CASE("north is found by how detail moves between the rings") {
    const test::TemporaryFolder folder;
    DerotateRequest request = request_for(series(folder));
    request.turning.north_deg.reset();
    request.output = folder.file("out.fits");
    const DerotateOutcome outcome = run_derotate(request, {});
    CHECK(outcome.north_found);
    CHECK(std::abs(outcome.north_deg - 20) < 2);
    CHECK_FALSE(outcome.mirrored);
  }

  TEST_CASE("what rings hide and shade is empty on a map, what they leave is not") {
    const test::TemporaryFolder folder;
    DerotateRequest request = request_for({saturn().stack(folder, "a.fits", pose_at(0))});
    request.map.file = folder.file("map.fits");
    request.map.pixels_per_degree = 1;
    static_cast<void>(run_derotate(request, {}));
    const Plane map = std::move(files::read_fits(request.map.file).picture.channels.front());
    const globe::GlobeView view = view_at(kMiddle);
    int hidden = 0;
    int seen = 0;
    int wrong = 0;
    for (int y = 0; y < map.height(); ++y) {
      for (int x = 0; x < map.width(); ++x) {
        const double latitude = (89.5 - y) * sky::kDegree;
        const double east = (x + 0.5) * sky::kDegree;
        const auto at = view.shown(globe::surface_point(latitude, east, view.shape().axis_ratio));
        if (at.cos_observer < 0.4 || at.cos_sun < 0.4) continue;
        const bool empty = std::isnan(map.row(y)[x]);
        if (globe::is_changed_by_rings(view, at.x_px, at.y_px)) {
          ++hidden;
          wrong += empty ? 0 : 1;
        } else {
          seen += empty ? 0 : 1;
        }
      }
    }
    CHECK(hidden > 500);
    CHECK(seen > 3000);
    CHECK(wrong == 0);
  }
}
