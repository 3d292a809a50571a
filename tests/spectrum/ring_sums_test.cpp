#include "spectrum/ring_sums.h"

#include <doctest/doctest.h>

#include <sstream>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/scene.h"
#include "support/temporary_folder.h"

TEST_SUITE("spectrum/ring_sums") {
  namespace {

  using namespace lull;

  Plane noise(Size size, std::uint32_t seed) {
    Plane plane(size);
    plane.fill(0.4F);
    test::add_noise(plane.view(), 0.1, seed);
    return plane;
  }

  }  // namespace

  TEST_CASE("are NumPy's, under SciPy's window") {
    for (const Size size : {Size{60, 48}, Size{45, 80}}) {
      CAPTURE(size.width_px);
      const Plane first = noise(size, 1);
      Plane second = noise(size, 2);
      add(second.view(), first.view());
      std::vector<double> values;
      for (const Plane* plane : {&first, const_cast<const Plane*>(&second)}) {
        for (int y = 0; y < size.height_px; ++y) {
          values.insert(values.end(), plane->row(y), plane->row(y) + size.width_px);
        }
      }
      const test::TemporaryFolder folder;
      test::write_values(folder.file("pictures"), values);
      const auto rings = spectrum::ring_sums(first.view(), second.view(), 4, 100);
      REQUIRE(rings.size() ==
              static_cast<std::size_t>(std::min(size.width_px, size.height_px) / 4));
      std::istringstream expected(test::reference_of(
          "spectrum/ring_sums.py", {std::to_string(size.width_px), std::to_string(size.height_px),
                                    std::to_string(rings.size()), folder.file("pictures")}));
      for (const spectrum::RingSums& ring : rings) {
        CAPTURE(ring.frequency);
        double cross = 0;
        double power_first = 0;
        double power_second = 0;
        double bins = 0;
        expected >> cross >> power_first >> power_second >> bins;
        REQUIRE(expected.good());
        CHECK(ring.bins == bins);
        // Single precision, and a mean that cancels in the lowest ring.
        CHECK(ring.cross == doctest::Approx(cross).epsilon(1e-4));
        CHECK(ring.first == doctest::Approx(power_first).epsilon(1e-4));
        CHECK(ring.second == doctest::Approx(power_second).epsilon(1e-4));
      }
    }
  }

  TEST_CASE("8 rings at least, no more than asked for, in equal steps up to 0.5 cycles/px") {
    const Plane plane = noise({64, 64}, 3);
    CHECK(spectrum::ring_sums(plane.view(), plane.view(), 32, 100).size() == 8);
    CHECK(spectrum::ring_sums(plane.view(), plane.view(), 2, 20).size() == 20);
    const auto rings = spectrum::ring_sums(plane.view(), plane.view(), 4, 100);
    REQUIRE(rings.size() == 16);
    CHECK(rings.front().frequency == doctest::Approx(0.5 / 32));
    CHECK(rings.back().frequency == doctest::Approx(15.5 / 32));
    for (const auto& ring : rings) CHECK(ring.cross == doctest::Approx(ring.first));
  }

  TEST_CASE("sizes that transform slowly lose their rims: 67 x 53 px are 64 x 50") {
    const Plane plane = noise({67, 53}, 4);
    const auto whole = spectrum::ring_sums(plane.view(), plane.view(), 4, 100);
    const PlaneView middle = plane.view().crop({1, 1, 65, 51});
    const auto cut = spectrum::ring_sums(middle, middle, 4, 100);
    REQUIRE(whole.size() == cut.size());
    for (std::size_t i = 0; i < cut.size(); ++i) CHECK(whole[i].first == cut[i].first);
  }
}
