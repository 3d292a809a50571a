#include "finish/detail_curve.h"

#include <doctest/doctest.h>

#include <cmath>

using namespace lull;
using finish::DetailCurve;

TEST_SUITE("finish/detail_curve") {
  TEST_CASE("between its points it is scipy's monotone cubic on the logarithm of the size") {
    // scipy 1.10 PchipInterpolator over log2 of the size, through the points, 1 two octaves beyond
    // the last, and one more level point at either end.
    const DetailCurve usual({{1.5, 2.0}, {3, 1.6}, {8, 1.1}});
    const double usual_values[][2] = {
        {1, 2},           {1.5, 2}, {2, 1.888430821},  {2.5, 1.722261286}, {3, 1.6},
        {5, 1.287512776}, {8, 1.1}, {12, 1.052537217}, {20, 1.012780894},  {32, 1},
        {50, 1}};
    for (const auto& value : usual_values) {
      const double size = value[0];
      const double gain = value[1];
      CAPTURE(size);
      CHECK(std::abs(usual.gain(size) - gain) < 1e-8);
    }
    const DetailCurve wild({{1, 3.0}, {2, 0.5}, {4, 2.5}, {10, 2.5}});
    const double wild_values[][2] = {{1.3, 2.196615919}, {2, 0.5},         {2.6, 1.142707264},
                                     {3.5, 2.305925117}, {6, 2.5},         {11, 2.479704307},
                                     {25, 1.400342351},  {39, 1.001482633}};
    for (const auto& value : wild_values) {
      const double size = value[0];
      const double gain = value[1];
      CAPTURE(size);
      CHECK(std::abs(wild.gain(size) - gain) < 1e-8);
    }
  }

  TEST_CASE("it never leaves the range of its points: monotone, so no gain outside that range") {
    const DetailCurve curve({{1, 1.0}, {2, 5.0}, {3, 5.0}, {30, 1.5}});
    for (int step = 0; step < 610; ++step) {
      const double size = 0.7 * std::pow(1.01, step);  // to 300
      CHECK(curve.gain(size) > 1 - 1e-12);             // rounding
      CHECK(curve.gain(size) < 5 + 1e-12);
    }
  }
}
