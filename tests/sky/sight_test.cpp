// Covers: sky/observer, sky/vector
#include "sky/sight.h"

#include <fmt/format.h>

#include <array>
#include <nlohmann/json.hpp>
#include <random>
#include <string>

#include "files/atomic_file.h"
#include "sky/aspect.h"
#include "sky/horizon.h"
#include "sky/moon.h"
#include "sky/rings.h"
#include "sky/sky_test.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::sky;

TEST_SUITE("sky/sight") {
  constexpr Site kSite{-33.4, 151.2, 620};
  constexpr std::size_t kDates = 1000;
  constexpr std::uint64_t kSeed = 20261130;

  // What PyEphem gives for the middle of the Earth, degrees: libration and the Sun's latitude on
  // the Moon (its colongitude is 0.3 degrees off Meeus' example); tilt of Saturn's rings to the
  // Earth and to the Sun.
  std::array<double, 3> face_of(Body body, const Observer& observer) {
    if (body == Body::moon) {
      const MoonFace face = moon_face(observer);
      return {face.libration_longitude_deg, face.libration_latitude_deg, face.sun_latitude_deg};
    }
    if (body == Body::saturn) {
      const Rings rings = rings_of_saturn(observer);
      return {rings.tilt_deg, rings.sun_tilt_deg, 0};
    }
    return {};
  }

  // One line a date, the bodies in turn. Before 1962 astropy has no leap seconds.
  std::string table_of_random_dates() {
    std::mt19937_64 random(kSeed);
    const Utc first = utc("1962-01-01");
    const double span_s = seconds_between(first, utc("2099-12-31"));
    std::string table = "utc,body,ra,dec,au,altitude,azimuth,arcsec,lit,elongation,face\n";
    for (std::size_t i = 0; i < kDates; ++i) {
      const double part = static_cast<double>(random() >> 11) / 9007199254740992.0;
      const Observer observer(after(first, std::floor(part * span_s)), kSite);
      const Body body = kBodies[i % kBodies.size()];
      const Sight sight = sight_of(body, observer);
      const ApparentPlace place = apparent_place(sight, observer);
      const Horizontal at = horizontal(place, observer);
      const Aspect aspect = aspect_of(body, observer);
      table +=
          fmt::format("{},{},{:.7f},{:.7f},{:.9f},{:.7f},{:.7f},{:.5f},{:.7f},{:.5f},{:.6f}\n",
                      iso8601(observer.moment().utc, 0), body_name(body), place.right_ascension_deg,
                      place.declination_deg, sight.from_observer_au.length(), at.altitude_deg,
                      at.azimuth_deg, aspect.equatorial_arcsec, aspect.lit,
                      body == Body::sun ? 0 : elongation_deg(body, observer),
                      fmt::join(face_of(body, Observer(observer.moment().utc)), " "));
    }
    return table;
  }

  // Bounds for places by other theories, arcsec: what eraPlan94 and eraMoon98 state, as seen from
  // here, is less.
  double theory_bound_arcsec(Body body) {
    switch (body) {
      case Body::jupiter:
      case Body::saturn:
      case Body::uranus:
        return 120;
      case Body::mars:
        return 60;
      default:
        return 25;
    }
  }

  // Debian's astropy (the same theories of motion through code of its own), and PyEphem, which has
  // the planets by VSOP87 and the Moon by Chapront; PyEphem only up to 2030, as it expects the
  // Earth to turn more slowly then.
  TEST_CASE("1,000 random dates against astropy and PyEphem") {
    const test::TemporaryFolder folder;
    files::write_file(folder / "sky.csv", table_of_random_dates());
    const auto all = nlohmann::json::parse(
        test::reference_of("sky/sky_reference.py", {(folder / "sky.csv").string()}));
    for (const Body body : kBodies) {
      const std::string name(body_name(body));
      const auto& astropy = all.at("astropy").at(name);
      const auto& ephem = all.at("ephem").at(name);
      CAPTURE(name);
      CAPTURE(astropy.dump());
      CAPTURE(ephem.dump());
      // Light bent by the Sun, up to 1.75 arcsec beside it, is left out here.
      CHECK(astropy.at("place_arcsec").get<double>() < 1.8);
      CHECK(astropy.at("horizon_arcsec").get<double>() < 2);
      CHECK(astropy.at("distance").get<double>() < 1e-6);
      CHECK(ephem.at("place_arcsec").get<double>() < theory_bound_arcsec(body));
      // PyEphem counts the clouds of Venus.
      CHECK(ephem.at("diameter").get<double>() < (body == Body::venus ? 0.015 : 0.005));
      // PyEphem's axes of the Moon are those of its inertia: 0.02 degrees away.
      CHECK(ephem.at("face_deg").get<double>() < 0.05);
      if (body == Body::moon) continue;  // the rest of it PyEphem gives for the middle of the Earth
      CHECK(ephem.at("lit").get<double>() < 0.002);
      CHECK(ephem.at("elongation_deg").get<double>() < 0.05);
    }
  }

  TEST_CASE("light from Jupiter takes 43 minutes at its mean distance") {
    const Sight sight = sight_of(Body::jupiter, Observer(utc("2024-12-07")));  // opposition
    CHECK(std::abs(sight.light_time_s / sight.from_observer_au.length() - 499.00478) < 1e-4);
  }

  TEST_CASE("Venus stands east of the Sun in January 2025, west in May") {
    CHECK(elongation_deg(Body::venus, Observer(utc("2025-01-10"))) > 45);
    CHECK(elongation_deg(Body::venus, Observer(utc("2025-06-01"))) < -45);
  }
}
