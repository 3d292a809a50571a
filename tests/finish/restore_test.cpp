#include "finish/restore.h"

#include <doctest/doctest.h>

#include "support/scene.h"

using namespace lull;

namespace {

constexpr Size kSize{96, 80};

// Of halves that share all up to 0.3 cycles/px.
finish::Measurements sure_measurements() {
  finish::Measurements measured;
  measured.white_noise = {1e-4};
  for (int k = 0; k < 40; ++k) {
    const double frequency = 0.5 * (k + 0.5) / 40;
    measured.frc.rings.push_back({frequency, frequency < 0.3 ? 1.0 : 0.0, 1000});
  }
  return measured;
}

std::vector<spectrum::FilterPoint> gains_of(const finish::Measurements& measured,
                                            const finish::DetailPlan& plan) {
  const test::Scene scene(kSize, 5);
  const Plane picture = scene.seen(kSize, [](int, int) { return Displacement{}; });
  return finish::restore({picture.view()}, measured, plan).gains;
}

}  // namespace

TEST_SUITE("finish/restore") {
  TEST_CASE("what sampling took is undone together with the air, and with nothing else") {
    const finish::Measurements plain = sure_measurements();
    finish::Measurements sampled = sure_measurements();
    sampled.sampling = {{0, 1}, {0.75, 0.4}};
    const auto air = gains_of(plain, {finish::UndoAir{}, 1});
    const auto air_sampled = gains_of(sampled, {finish::UndoAir{}, 1});
    REQUIRE(air.size() == air_sampled.size());
    for (std::size_t i = 0; i < air.size(); ++i) {
      CAPTURE(air[i].frequency);
      CHECK(air_sampled[i].gain * spectrum::gain_at(sampled.sampling, air[i].frequency) ==
            doctest::Approx(air[i].gain));
    }
    CHECK(spectrum::gain_at(air_sampled, 0.25) > 1.2 * spectrum::gain_at(air, 0.25));
    const auto undone = gains_of(plain, {finish::UndoGaussian{2}, 1});
    const auto undone_sampled = gains_of(sampled, {finish::UndoGaussian{2}, 1});
    REQUIRE(undone.size() == undone_sampled.size());
    for (std::size_t i = 0; i < undone.size(); ++i) CHECK(undone[i].gain == undone_sampled[i].gain);
  }
}
