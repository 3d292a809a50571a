// Covers: run/map_choice, run/surface_map, run/surface_map_file
#include "run/surface_map.h"

#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "core/error.h"
#include "files/picture_file.h"
#include "run/derotate_outcome.h"
#include "run/drawn_stacks.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/text.h"

using namespace lull;
using namespace lull::run;

TEST_SUITE("run/surface_map") {
  namespace {

  constexpr Size kSize{150, 140};
  const Utc kMoment = parse_iso8601("1992-12-16T00:00:00").value();

  nlohmann::json reference(const std::vector<std::string>& arguments) {
    return nlohmann::json::parse(test::reference_of("run/surface_map.py", arguments));
  }

  // Jupiter as the script draws it, `gain` times as bright.
  std::string stack_after(const test::TemporaryFolder& folder, double hours, float gain = 1) {
    const std::string raw = folder.file("raw");
    const std::string name = "after" + std::to_string(hours) + ".fits";
    static_cast<void>(test::reference_of("run/surface_map.py",
                                         {"draw", raw, std::to_string(kSize.width_px),
                                          std::to_string(kSize.height_px), std::to_string(hours)}));
    const std::vector<float> values = test::values_of<float>(raw);
    REQUIRE(values.size() == static_cast<std::size_t>(kSize.area_px()));
    Plane picture(kSize);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        picture.row(y)[x] = 0.02F + gain * values[static_cast<std::size_t>(y * kSize.width_px + x)];
    }
    return write_stack(folder, name, std::move(picture), 0.002, after(kMoment, 3600 * hours));
  }

  DerotateRequest request_for(std::vector<std::string> stacks, const std::string& map) {
    DerotateRequest request;
    request.stacks = std::move(stacks);
    request.object = Object::jupiter;
    request.turning.north_deg = 0;
    request.turning.moment = kMoment;
    request.map.file = map;
    return request;
  }

  std::string refusal(const DerotateRequest& request) {
    return test::message_of<RunError>(
        [&] { static_cast<void>(run_derotate(request, RunControl{})); });
  }

  }  // namespace

  // Places by astropy.wcs; the picture by numpy from published figures, see the script.
  TEST_CASE("spots of one stack lie where astropy's coordinates of the map have them") {
    const test::TemporaryFolder folder;
    const std::vector<std::string> stacks = {stack_after(folder, 0)};
    for (const int system : {1, 2, 3}) {
      CAPTURE(system);
      DerotateRequest request =
          request_for(stacks, folder.file("map" + std::to_string(system) + ".fits"));
      request.map.system = static_cast<sky::LongitudeSystem>(system);
      const auto outcome = run_derotate(request, {});
      CHECK(outcome.written == std::vector<std::string>{request.map.file});
      const auto found = reference({"check", request.map.file, std::to_string(system)});
      CAPTURE(found.dump());
      CHECK(found.at("spots").size() == 6);
      for (const auto& spot : found.at("spots")) CHECK(spot.at("off_deg").get<double>() < 0.4);
      CHECK(found.at("header").at("LONSYS") == system);
    }
  }

  TEST_CASE("the map is as bright as the surface, and its header is that of the standard") {
    const test::TemporaryFolder folder;
    const DerotateRequest request = request_for({stack_after(folder, 0)}, folder.file("map.fits"));
    const auto outcome = run_derotate(request, {});
    const auto found = reference({"check", request.map.file, "3"});
    CAPTURE(found.dump());
    // The surface is drawn at 0.5, with spots of up to 0.25 more; noise of 0.002 is divided by the
    // light, of which the limb has a fifth.
    // Of the map's pixels more than a fifth show no spot.
    CHECK(std::abs(found.at("low").get<double>() - 0.5) < 0.01);
    CHECK(found.at("least").get<double>() > 0.44);
    CHECK(found.at("most").get<double>() < 0.78);
    for (const auto& spot : found.at("spots"))
      CHECK(std::abs(spot.at("top").get<double>() - 0.735) < 0.03);
    const auto& header = found.at("header");
    CHECK(header.at("CTYPE1") == "JULN-CAR");
    CHECK(header.at("CTYPE2") == "JULT-CAR");
    CHECK(header.at("CUNIT1") == "deg");
    CHECK(header.at("A_RADIUS") == 71492000.0);
    CHECK(header.at("C_RADIUS") == 66854000.0);
    CHECK(header.at("OBJECT") == "Jupiter");
    CHECK(header.at("DATE-AVG") == "1992-12-16T00:00:00.000000");
    CHECK(header.at("NSTACKS") == 1);
    REQUIRE(outcome.map.has_value());
    CHECK(found.at("shape").at(0) == outcome.map->height_px);
    CHECK(found.at("shape").at(1) == outcome.map->width_px);
    // 60 px of radius: 1.047 px a degree, a little less so that 90 degrees are whole pixels.
    CHECK(outcome.map->pixels_per_degree == doctest::Approx(94.0 / 90));
    // Half of the globe, less what lies beyond 72 degrees from its middle, and 10 of night: more
    // than (1 - cos 62) / 2, less than (1 - cos 75) / 2 of the
    // sphere.
    CHECK(outcome.map->seen_share > 0.265);
    CHECK(outcome.map->seen_share < 0.37);
    for (const char* part : {"NOISE", "WEIGHT"}) {
      CAPTURE(part);
      CHECK(found.at("parts").at(part).at("unseen") == true);
      CHECK(found.at("parts").at(part).at("same") == true);
    }
    // The middle of the first pixel: half a step from longitude 360 and the pole.
    CHECK(found.at("corners").at(0).at(0).get<double>() == doctest::Approx(360 - 45.0 / 94));
    CHECK(found.at("corners").at(0).at(1).get<double>() == doctest::Approx(90 - 45.0 / 94));
    // wcslib, which follows Calabretta & Greisen 2002: a cylinder whose reference is the equator.
    CHECK(found.at("wcs").at("types") == nlohmann::json({"JULN", "JULT"}));
    CHECK(found.at("wcs").at("theta0") == 0.0);
    CHECK(found.at("wcs").at("lonpole") == 0.0);
  }

  // GDAL counts rows from the last one of the file, which is the south.
  TEST_CASE("GDAL reads the planet, its radii and the degrees of the axes") {
    const test::TemporaryFolder folder;
    const DerotateRequest request = request_for({stack_after(folder, 0)}, folder.file("map.fits"));
    static_cast<void>(run_derotate(request, {}));
    const auto found = reference({"gdal", request.map.file});
    CAPTURE(found.dump());
    CHECK(found.at("name") == "GCS_Jupiter");
    CHECK(found.at("projection") == "Equirectangular");
    CHECK(found.at("radius") == 71492000.0);
    CHECK(found.at("inverse_flattening").get<double>() ==
          doctest::Approx(71492.0 / (71492.0 - 66854.0)));
    CHECK(found.at("across_deg").get<double>() == doctest::Approx(-90.0 / 94));
    CHECK(found.at("down_deg").get<double>() == doctest::Approx(90.0 / 94));
    CHECK(found.at("left_deg").get<double>() == doctest::Approx(360));
    CHECK(found.at("top_deg").get<double>() == doctest::Approx(-90));
  }

  TEST_CASE("stacks of five hours make one map, each latitude at the moment, without a step") {
    const test::TemporaryFolder folder;
    const std::vector<std::string> stacks = {stack_after(folder, -2.5, 0.9F),
                                             stack_after(folder, -1), stack_after(folder, 1, 1.2F),
                                             stack_after(folder, 2.5)};
    const DerotateRequest request = request_for(stacks, folder.file("map.fits"));
    const auto outcome = run_derotate(request, {});
    CHECK(outcome.map->seen_share > 0.6);
    const auto found = reference({"check", request.map.file, "3"});
    CAPTURE(found.dump());
    CHECK(found.at("spots").size() == 6);
    for (const auto& spot : found.at("spots")) CHECK(spot.at("off_deg").get<double>() < 0.4);
    // The mean of the gains, 1.02, is kept.
    CHECK(std::abs(found.at("low").get<double>() - 0.51) < 0.02);
    CHECK(found.at("least").get<double>() > 0.44);
  }

  TEST_CASE("polar maps show half of the globe from above") {
    const test::TemporaryFolder folder;
    const std::vector<std::string> stacks = {stack_after(folder, -1), stack_after(folder, 1)};
    using globe::MapProjection;
    for (const auto& [projection, pole, spots] :
         {std::tuple{MapProjection::north_pole, "north", 3U},
          std::tuple{MapProjection::south_pole, "south", 3U}}) {
      const std::string name = pole;
      CAPTURE(name);
      DerotateRequest request = request_for(stacks, folder.file(name + ".fits"));
      request.map.projection = projection;
      request.map.pixels_per_degree = 2;
      static_cast<void>(run_derotate(request, {}));
      const auto found = reference({"check", request.map.file, "3"});
      CAPTURE(found.dump());
      CHECK(found.at("shape").at(0) == 360);
      CHECK(found.at("shape").at(1) == 360);
      CHECK(found.at("header").at("CTYPE1") == "JULN-ARC");
      CHECK(found.at("wcs").at("theta0") == 90.0);
      CHECK(found.at("wcs").at("lonpole") == 180.0);
      CHECK(found.at("spots").size() == spots);
      for (const auto& spot : found.at("spots")) CHECK(spot.at("off_deg").get<double>() < 0.4);
    }
  }

  TEST_CASE("a TIFF is transparent where nothing was seen") {
    const test::TemporaryFolder folder;
    const DerotateRequest request = request_for({stack_after(folder, 0)}, folder.file("map.tif"));
    const auto outcome = run_derotate(request, {});
    const auto found = reference({"tiff", request.map.file});
    CAPTURE(found.dump());
    CHECK(found.at("shape") == nlohmann::json({188, 376, 2}));
    CHECK(found.at("extra") == nlohmann::json({2}));  // unassociated alpha, TIFF 6.0
    CHECK(found.at("alpha") == nlohmann::json({0, 65535}));
    CHECK(found.at("hidden") == 0);
    CHECK(found.at("top") == 65535);
    CHECK(test::contains(found.at("text").get<std::string>(), "System 3, positive westward"));
    CHECK(outcome.map->seen_share > 0.25);
  }

  TEST_CASE("maps of other planets: Mars, and Uranus whose longitudes grow eastward") {
    const test::TemporaryFolder folder;
    for (const auto& [body, object, axes, east] :
         {std::tuple{sky::Body::mars, Object::mars, "MALN-CAR", false},
          std::tuple{sky::Body::uranus, Object::uranus, "URLN-CAR", true}}) {
      const std::string axis = axes;
      CAPTURE(axis);
      const Utc utc = parse_iso8601("2025-01-16T00:00:00").value();
      const sky::Aspect aspect = sky::aspect_of(body, sky::Observer(utc));
      const double sense = sky::longitude_sense(body) == sky::LongitudeSense::east ? 1 : -1;
      const sky::Vector spot =
          sky::direction((sense * aspect.below_observer.longitude_deg + 15) * sky::kDegree,
                         aspect.below_observer.centric_latitude_deg * sky::kDegree);
      const DrawnPlanet planet{
          .body = body, .middle = utc, .surface = [spot](const sky::Vector& point) {
            const double off = sky::angle_between(point, spot) / sky::kDegree;
            return 0.5 + 0.3 * std::exp(-0.5 * off * off / 16);
          }};
      DerotateRequest request =
          request_for({planet.stack(folder, axis + ".fits", {})}, folder.file(axis + ".map.fits"));
      request.object = object;
      request.turning.north_deg = planet.north_deg;
      request.turning.moment = utc;
      static_cast<void>(run_derotate(request, {}));
      const auto found = reference({"check", request.map.file, "3"});
      CAPTURE(found.dump());
      CHECK(found.at("header").at("CTYPE1") == axis);
      CHECK((found.at("header").at("CDELT1").get<double>() > 0) == east);
      const double left = found.at("corners").at(0).at(0).get<double>();
      CHECK((left < 1) == east);
    }
  }

  TEST_CASE("what a map cannot be is refused in words") {
    const test::TemporaryFolder folder;
    const std::string stack = DrawnPlanet{.middle = kMoment}.stack(folder, "a.fits", {});
    DerotateRequest request = request_for({stack}, folder.file("map.png"));
    request.turning.north_deg = 20;
    CHECK(test::contains(refusal(request), "must end in .fits or .tif"));
    request.map.file.clear();
    request.map.system = sky::LongitudeSystem::two;
    CHECK(test::contains(refusal(request), "--map"));
    request.map.file = folder.file("map.fits");
    request.object = Object::mars;
    CHECK(test::contains(refusal(request), "only Jupiter"));
    request.map.file = stack;
    request.object = Object::jupiter;
    CHECK_FALSE(refusal(request).empty());
  }
}
