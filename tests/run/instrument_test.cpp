#include "run/instrument.h"

#include <doctest/doctest.h>

using namespace lull;

TEST_SUITE("run/instrument") {
  // By hand: 206265 x 0.003 mm / 2000 mm = 0.3094 arcsec; a picture twice as large shows the same
  // arc in twice as many pixels.
  TEST_CASE("pixels of an enlarged picture are smaller") {
    const run::Instrument instrument{200, 2000, 3, 550};
    const auto optics = instrument.optics();
    REQUIRE(optics);
    CHECK(optics->scale_arcsec_per_px() == doctest::Approx(0.3094).epsilon(1e-3));
    const auto large = run::enlarged(optics, 2);
    REQUIRE(large);
    CHECK(large->scale_arcsec_per_px() == doctest::Approx(0.1547).epsilon(1e-3));
    CHECK(large->px_per_lambda_over_d() == doctest::Approx(2 * optics->px_per_lambda_over_d()));
    CHECK_FALSE(run::enlarged({}, 2));
  }

  TEST_CASE("without an aperture the optics are not known") {
    CHECK_FALSE(run::Instrument{}.optics());
  }
}
