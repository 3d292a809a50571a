// Covers: run/planet_check
#include "run/planet_check.h"

#include <doctest/doctest.h>

#include "core/error.h"
#include "run/derotate_outcome.h"
#include "run/drawn_stacks.h"
#include "support/text.h"

using namespace lull;
using namespace lull::run;
using test::contains;

TEST_SUITE("run/planet_check") {
  namespace {

  const Utc kMoment = parse_iso8601("2026-11-30T04:00:00").value();

  DerotateRequest request_for(const std::string& stack, Object object, const std::string& map) {
    DerotateRequest request;
    request.stacks = {stack};
    request.object = object;
    request.turning.north_deg = 20;
    request.map.file = map;
    return request;
  }

  std::string notes_of(const DerotateRequest& request) {
    std::string all;
    for (const std::string& note : run_derotate(request, {}).notes) all += note + "\n";
    return all;
  }

  }  // namespace

  TEST_CASE("flattening and phase tell Jupiter from Mars where no scale is stated") {
    const test::TemporaryFolder folder;
    const DrawnPlanet jupiter{.middle = kMoment};
    const DrawnPlanet mars{.body = sky::Body::mars, .middle = kMoment};
    const std::string of_jupiter = jupiter.stack(folder, "j.fits", {});
    const std::string of_mars = mars.stack(folder, "m.fits", {});
    const auto wrong = test::message_of<InputError>([&] {
      static_cast<void>(
          run_derotate(request_for(of_jupiter, Object::mars, folder.file("1.fits")), {}));
    });
    CAPTURE(wrong);
    CHECK(contains(wrong, "shape of Jupiter (flattened by 6"));
    CHECK(contains(wrong, "not that of Mars (flattened by 0"));
    // A planet with a terminator is fitted worse by every model: a note, not a refusal.
    CHECK(contains(notes_of(request_for(of_mars, Object::jupiter, folder.file("2.fits"))),
                   "(flattened by 0.5%, 90% lit) better than Jupiter"));
    const std::string right = notes_of(request_for(of_mars, Object::mars, folder.file("3.fits")));
    CAPTURE(right);
    CHECK_FALSE(contains(right, "better than"));
    CHECK(contains(right, "state no pixel scale"));
  }

  TEST_CASE("the scale that would be right is said, and a stated one is not questioned") {
    const test::TemporaryFolder folder;
    const DrawnPlanet jupiter{.middle = kMoment};
    // Jupiter has 39.19 arcsec across at that date (lull plan; PyEphem: 39.2), here 100 px.
    CHECK(contains(notes_of(request_for(jupiter.stack(folder, "a.fits", {}), Object::jupiter,
                                        folder.file("1.fits"))),
                   "a pixel is 0.39"));
    const std::string scaled = jupiter.stack(folder, "b.fits", {}, {{"PIXSCALE", 0.392, "arcsec"}});
    CHECK(notes_of(request_for(scaled, Object::jupiter, folder.file("2.fits"))).empty());
  }

  TEST_CASE("fits come best first") {
    const test::TemporaryFolder folder;
    const std::string path = DrawnPlanet{.middle = kMoment}.stack(folder, "j.fits", {});
    Turning turning;
    turning.north_deg = 20;
    const GlobeStack stack =
        globe_stack(path, read_finish_input(path), sky::Body::jupiter, turning, false);
    const auto fits = planet_fits(stack, sky::Body::jupiter, turning);
    REQUIRE(fits.size() == 4);
    CHECK(fits.front().body == sky::Body::jupiter);
    CHECK(fits.back().body == sky::Body::mars);
    CHECK(fits[0].misfit < fits[1].misfit);
    // The camera stands on its head, and so does north.
    Turning opposite;
    opposite.north_deg = 200;
    GlobeStack turned =
        globe_stack(path, read_finish_input(path), sky::Body::jupiter, opposite, true);
    CHECK(planet_fits(turned, sky::Body::jupiter, opposite).front().misfit ==
          doctest::Approx(fits.front().misfit).epsilon(0.01));
  }
}
