#include "finish/strength.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <string>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/scene.h"
#include "support/temporary_folder.h"

using namespace lull;

namespace {

// Rings whose C^2 = 2 F / (1 + F) is a given function of frequency.
template <class Certain>
spectrum::FrcCurve rings_for(const Certain& certain) {
  spectrum::FrcCurve frc;
  for (int i = 0; i < 400; ++i) {
    const double f = (i + 0.5) / 800;
    const double c = certain(f);
    frc.rings.push_back({f, c / (2 - c), 1e6});
  }
  return frc;
}

void write_doubles(const std::filesystem::path& path, const Plane& plane) {
  std::ofstream file(path, std::ios::binary);
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      const auto value = static_cast<double>(plane.row(y)[x]);
      file.write(reinterpret_cast<const char*>(&value), sizeof value);
    }
  }
}

}  // namespace

TEST_SUITE("finish/strength") {
  TEST_CASE("a Gaussian blur halves its own height at half its width, and its transform is known") {
    // Transform of a Gaussian of unit area: exp(-2 (pi sigma f)^2), sigma = FWHM / 2.354820 (any
    // handbook). FWHM 3 px, f 0.2: sigma 1.273983, exp(-1.281452) = 0.277634.
    const auto transfer = finish::gaussian_transfer(3);
    CHECK(transfer(0) == 1);
    CHECK(transfer(0.2) == doctest::Approx(0.277634).epsilon(1e-5));
  }

  TEST_CASE("the certain share is that of the whole set: Rosenthal & Henderson 2003") {
    // F = 1/7 -> C^2 = 0.25, F = 0.5 -> C^2 = 2/3: 2 F / (1 + F).
    spectrum::FrcCurve frc;
    for (const double f : {0.99, 0.9, 0.5, 1.0 / 7 + 1e-9, 0.01, 0.3})
      frc.rings.push_back({0.05 + 0.05 * static_cast<double>(frc.rings.size()), f, 1e6});
    const auto points = finish::wiener_weight(frc);
    REQUIRE(points.size() == 7);
    CHECK(points[3].gain == doctest::Approx(2.0 / 3));
    CHECK(points[4].gain == doctest::Approx(0.25));
    CHECK(points[5].gain == 0);  // lost, and what comes after it is chance
    CHECK(points[6].gain == 0);
  }

  TEST_CASE("as a filter it is scikit-image's Wiener filter for the same blur and noise") {
    const double fwhm = 3;
    const double balance = 0.02;
    const Size size{240, 200};
    const test::Scene scene(size, 5, 1.5, 6);
    const Plane picture = scene.seen(size, [](int, int) { return Displacement{}; });
    const auto transfer = finish::gaussian_transfer(fwhm);
    const auto frc = rings_for([&](double f) {
      const double h2 = transfer(f) * transfer(f);
      return h2 / (h2 + balance);  // power of the blurred signal over that with its noise
    });
    // The transfer's floor and the loss of the halves lie where almost nothing passes.
    const Plane ours = spectrum::filtered(picture.view(), finish::wiener_filter(frc, transfer));
    const test::TemporaryFolder folder;
    write_doubles(folder / "in", picture);
    const auto ran = test::run_python(
        "finish/references.py",
        {"wiener", "240", "200", "3", "0.02", (folder / "in").string(), (folder / "out").string()});
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    const auto theirs = test::values_of<double>(folder / "out");
    REQUIRE(theirs.size() == 240 * 200);
    // Theirs weakens the mean, too, by 1 / (1 + balance); ours keeps it.
    double mean = 0;
    for (const double value : theirs) mean += value / (240 * 200);
    double worst = 0;
    double changed = 0;
    for (int y = 32; y < 168; ++y) {  // theirs goes round at the edges, ours is mirrored there
      for (int x = 32; x < 208; ++x) {
        const double reference =
            theirs[static_cast<std::size_t>(std::ptrdiff_t{y} * 240 + x)] + mean * balance;
        worst = std::max(worst, std::abs(static_cast<double>(ours.row(y)[x]) - reference));
        changed = std::max(changed, std::abs(reference - static_cast<double>(picture.row(y)[x])));
      }
    }
    CHECK(changed > 0.05);  // the filter does something
    CHECK(worst < 0.02 * changed);
  }

  TEST_CASE("restraint lies between what is certain and all that is asked for") {
    const auto frc = rings_for([](double f) { return f < 0.2 ? 0.9 : 0.3; });
    const finish::DetailCurve curve({{1, 3}, {2, 3}, {40, 3}});
    const auto all = finish::curve_filter(frc, curve, 0);
    const auto half = finish::curve_filter(frc, curve, 0.5);
    const auto certain = finish::curve_filter(frc, curve, 1);
    CHECK(spectrum::gain_at(all, 0.3) == doctest::Approx(3));
    CHECK(spectrum::gain_at(certain, 0.3) == doctest::Approx(1 + 2 * 0.3).epsilon(1e-3));
    CHECK(spectrum::gain_at(half, 0.3) == doctest::Approx(1 + 2 * 0.65).epsilon(1e-3));
    CHECK(spectrum::gain_at(certain, 0.1) == doctest::Approx(1 + 2 * 0.9).epsilon(1e-3));
    CHECK(spectrum::gain_at(certain, 0) == 1);
    // Gains below 1 are not limited.
    const auto weaker = finish::curve_filter(frc, finish::DetailCurve({{1, 0.2}, {30, 0.2}}), 1);
    CHECK(spectrum::gain_at(weaker, 0.3) == doctest::Approx(0.2));
  }

  TEST_CASE("a place allows more than the whole where its halves agree better, with caution") {
    spectrum::FrcCurve whole;
    spectrum::FrcCurve place;
    for (int i = 0; i < 8; ++i) {
      const double f = 0.03 + 0.06 * i;
      whole.rings.push_back({f, 0.5, 1e6});
      place.rings.push_back({f, i < 4 ? 0.9 : 0.4, 50});
    }
    const auto beyond = finish::weight_beyond(place, whole);
    // (1 - 0.9^2) / sqrt(100) = 0.019 lower: 2 * 0.881 / 1.881 = 0.93674; less 2/3.
    CHECK(spectrum::gain_at(beyond, 0.15) == doctest::Approx(0.93674 - 2.0 / 3).epsilon(1e-4));
    CHECK(spectrum::gain_at(beyond, 0.33) == 0);  // worse than the whole
    CHECK(spectrum::gain_at(beyond, 0) == 0);
    CHECK(finish::weight_beyond(whole, place).size() == 9);
    CHECK(finish::weight_beyond(whole, whole).empty());

    const auto transfer = finish::gaussian_transfer(2);
    const auto wiener = finish::wiener_beyond(beyond, transfer, 0.5);
    CHECK(spectrum::gain_at(wiener, 0.15) ==
          doctest::Approx(0.5 * 0.27007 / transfer(0.15)).epsilon(1e-3));
    const auto curve = finish::curve_beyond(beyond, finish::DetailCurve({{1, 3}, {40, 3}}));
    CHECK(spectrum::gain_at(curve, 0.15) == doctest::Approx(2 * 0.27007).epsilon(0.01));
    const auto weaker = finish::curve_beyond(beyond, finish::DetailCurve({{1, 0.5}, {40, 0.5}}));
    CHECK(spectrum::gain_at(weaker, 0.15) == 0);
  }

  TEST_CASE("where the halves share nothing, nothing is raised") {
    const auto frc = rings_for([](double) { return 0.001; });
    REQUIRE_FALSE(frc.resolution());
    for (const auto& point : finish::wiener_filter(frc, finish::gaussian_transfer(5)))
      CHECK(point.gain == 1);
    for (const auto& point : finish::curve_filter(frc, finish::DetailCurve({{2, 5}})))
      CHECK(point.gain == 1);
  }
}
