#include "finish/restore.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <utility>

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

float most_apart(PlaneView a, PlaneView b) {
  float most = 0;
  for (int y = 0; y < a.height_px; ++y)
    for (int x = 0; x < a.width_px; ++x) most = std::max(most, std::abs(a.row(y)[x] - b.row(y)[x]));
  return most;
}

}  // namespace

TEST_SUITE("finish/restore") {
  // Bound: a tenth of the noise that the picture has, which nobody sees. Measured: 0.06 of it.
  TEST_CASE("a part is restored nearly as in the whole, and what is kept changes nothing") {
    const Size size{400, 360};
    const test::Scene scene(size, 7);
    Plane picture = scene.seen(size, [](int, int) { return Displacement{}; });
    test::add_noise(picture.view(), 1e-3, 3);
    finish::Measurements measured = sure_measurements();
    measured.white_noise = {1e-3};
    const std::vector<PlaneView> channels = {picture.view()};
    finish::PreparedRestoration kept(channels, measured, finish::PreparedRestoration::Keep::all);
    const std::vector<finish::DetailPlan> plans = {{finish::UndoGaussian{2.5}, 1},
                                                   {finish::DetailCurve({{1.5, 2}, {3, 1.6}}), 0.7},
                                                   {finish::DetailCurve({{2, 0.5}, {6, 1}}), 1},
                                                   {finish::KeepDetail{}, 1}};
    for (int round = 0; round < 2; ++round) {
      for (const finish::DetailPlan& plan : plans) {
        const Plane whole = std::move(finish::restore(channels, measured, plan).channels[0]);
        const Plane again = std::move(kept.restored(plan).channels[0]);
        const Box part = {150, 120, 260, 250};
        const Plane seen = std::move(kept.restored_part(plan, part).channels[0]);
        REQUIRE(seen.size() == Size{110, 130});
        float differs = 0;
        float apart = 0;
        for (int y = 0; y < size.height_px; ++y) {
          for (int x = 0; x < size.width_px; ++x)
            differs = std::max(differs, std::abs(whole.row(y)[x] - again.row(y)[x]));
        }
        for (int y = 0; y < seen.height(); ++y) {
          for (int x = 0; x < seen.width(); ++x) {
            apart = std::max(apart, std::abs(seen.row(y)[x] - whole.row(y + part.y0)[x + part.x0]));
          }
        }
        CHECK(differs == 0);
        CHECK(apart < 1e-4F);
      }
    }
  }

  // A part differs from the whole as much as it does without squares: these add the same to both.
  TEST_CASE("a square whose halves agree better is raised further, and nothing else is") {
    const Size size{520, 400};
    const Box part = {150, 120, 260, 250};
    const test::Scene scene(size, 7, 2, 5);
    Plane picture = scene.seen(size, [](int, int) { return Displacement{}; });
    test::add_noise(picture.view(), 1e-3, 3);
    finish::Measurements measured = sure_measurements();
    measured.white_noise = {1e-3};
    for (auto& ring : measured.frc.rings) ring.correlation = ring.frequency < 0.3 ? 0.4 : 0;
    const std::vector<PlaneView> channels = {picture.view()};
    const auto both_ways = [&](const finish::DetailPlan& plan) {
      finish::PreparedRestoration kept(channels, measured, finish::PreparedRestoration::Keep::all);
      return std::pair{finish::restore(channels, measured, plan),
                       std::move(kept.restored_part(plan, part).channels[0])};
    };
    for (const finish::DetailPlan& plan :
         {finish::DetailPlan{finish::UndoGaussian{2.5}, 1},
          finish::DetailPlan{finish::DetailCurve({{1.5, 2}, {3, 1.6}}), 1}}) {
      measured.places.clear();
      const auto [before, part_before] = both_ways(plan);
      measured.places = {{{128, 128, 256, 256}, sure_measurements().frc},
                         {{64, 64, 192, 192}, measured.frc}};
      const auto [after, part_after] = both_ways(plan);
      CHECK(after.gains.size() == before.gains.size());
      const PlaneView was = before.channels[0].view();
      const PlaneView is = after.channels[0].view();
      CHECK(most_apart(was.crop({160, 160, 224, 224}), is.crop({160, 160, 224, 224})) > 0.004F);
      CHECK(most_apart(was.crop({400, 0, 520, 400}), is.crop({400, 0, 520, 400})) == 0);
      CHECK(most_apart(part_after.view(), is.crop(part)) <
            most_apart(part_before.view(), was.crop(part)) + 1e-6F);
    }
  }

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
