#include "finish/dark_sky.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>

#include "finish/telescope.h"
#include "support/scene.h"

using namespace lull;
using finish::Blur;
using spectrum::FilterPoint;

namespace {

constexpr double kCutoff = 0.33;

std::vector<FilterPoint> certain() { return {{0, 1}, {0.28, 1}, {0.33, 0}, {0.71, 0}}; }

// A disc of brightness 1 on a sky of 0.05, with belts, seen through telescope and air.
Plane disc_through(const Blur& air) {
  Plane disc(200, 180);
  for (int y = 0; y < disc.height(); ++y) {
    for (int x = 0; x < disc.width(); ++x) {
      const double edge = std::clamp(45.5 - std::hypot(x - 104.3, y - 88.6), 0.0, 1.0);
      disc.row(y)[x] = static_cast<float>(0.05 + edge * (0.95 + 0.1 * std::sin(0.3 * y)));
    }
  }
  std::vector<FilterPoint> passed;
  for (int i = 0; i <= 200; ++i) {
    const double f = 0.71 * i / 200;
    passed.push_back({f, finish::telescope_transfer(f / air.cutoff) * air.transfer(f)});
  }
  return spectrum::filtered(disc.view(), passed);
}

}  // namespace

TEST_SUITE("finish/dark_sky") {
  TEST_CASE("least light stays in the sky when the blur that put it there is taken back") {
    for (const Blur& truth : {Blur{0.2, 0.09, kCutoff}, Blur{0.45, 0.15, kCutoff}}) {
      const Plane picture = disc_through(truth);
      const auto sky = finish::DarkSky::find(picture.view(), certain(), {0.3, 0.11, kCutoff});
      REQUIRE(sky);
      const double least = sky->residual_light(truth);
      for (const double wrong : {0.7, 0.85, 1.2, 1.4}) {
        CAPTURE(wrong);
        CHECK(least < sky->residual_light({truth.core, wrong * truth.halo, kCutoff}));
      }
    }
  }

  // The wings of real air are wider than the model's, so its own halo is 0.92 of what is told.
  TEST_CASE("the halo told is a little wider than that which leaves least light") {
    const Blur truth{0.3, 0.12, kCutoff};
    const auto sky = finish::DarkSky::find(disc_through(truth).view(), certain(), truth);
    REQUIRE(sky);
    const auto deviance = sky->deviance(kCutoff);
    double told = 0;
    for (double share = 0.2; share < 0.6; share += 0.005) {
      if (told == 0 || deviance(truth.core, share) < deviance(truth.core, told)) told = share;
    }
    CHECK(told * kCutoff > 1.02 * truth.halo);
    CHECK(told * kCutoff < 1.15 * truth.halo);
  }

  TEST_CASE("restoring may not make the sky darker than it is, and changes nothing else") {
    const Plane before = disc_through({0.2, 0.09, kCutoff});
    const auto sky = finish::DarkSky::find(before.view(), certain(), {0.2, 0.09, kCutoff});
    REQUIRE(sky);
    Plane after = Plane::copy_of(before.view());
    after.row(20)[20] = -0.3F;                      // far out in the sky
    after.row(88)[60] = before.row(88)[60] * 1.2F;  // on the disc
    const auto least = sky->least_light(before.view(), 0.001);
    REQUIRE(least);
    finish::limit_darkening(after, {0, 0, before.width(), before.height()}, before.view(), *least);
    CHECK(after.row(20)[20] > 0.045F);
    CHECK(after.row(20)[20] <= before.row(20)[20]);
    CHECK(after.row(88)[60] == before.row(88)[60] * 1.2F);
    CHECK(after.row(25)[25] == before.row(25)[25]);
  }

  TEST_CASE("without sky nothing is found: a surface, a picture of one value") {
    const Plane ground =
        test::Scene({160, 160}, 3).seen({160, 160}, [](int, int) { return Displacement{}; });
    CHECK_FALSE(finish::DarkSky::find(ground.view(), certain(), {0.3, 0.1, kCutoff}));
    Plane flat(64, 64);
    flat.fill(0.3F);
    CHECK_FALSE(finish::DarkSky::find(flat.view(), certain(), {0.3, 0.1, kCutoff}));
  }
}
