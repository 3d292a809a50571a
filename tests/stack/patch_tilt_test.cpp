#include "stack/patch_tilt.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <numbers>

using namespace lull;

TEST_SUITE("stack/patch_tilt") {
  namespace {

  constexpr Size kSide{64, 48};

  // Waves up to 0.1 cycles/px that were displaced, and finer ones that were displaced otherwise.
  spectrum::Spectrum moved(Displacement coarse, Displacement fine) {
    spectrum::Spectrum out(kSide);
    for (int r = 0; r < out.rows(); ++r) {
      for (int c = 0; c < out.columns(); ++c) {
        const double fx = out.frequency_x(c);
        const double fy = out.frequency_y(r);
        const Displacement& by = std::hypot(fx, fy) <= 0.1 ? coarse : fine;
        // Shift theorem: Bracewell, The Fourier Transform and Its Applications, chapter 6 (from
        // memory).
        out.row(r)[c] = std::complex<float>(
            std::polar(1.0 + 5 * fx,
                       r * 1.3 + c * 0.7 - 2 * std::numbers::pi * (fx * by.x_px + fy * by.y_px)));
      }
    }
    return out;
  }

  }  // namespace

  TEST_CASE("the displacement of coarse detail, whatever fine detail does") {
    const stack::PatchTilt tilt(kSide, 0.1);
    const spectrum::Spectrum reference = moved({}, {});
    for (const Displacement by : {Displacement{0.8, -1.7}, Displacement{-2.5, 0}, Displacement{}}) {
      const Displacement found = tilt.between(moved(by, {3, 3}), reference);
      CHECK(std::abs(found.x_px - by.x_px) < 1e-3);
      CHECK(std::abs(found.y_px - by.y_px) < 1e-3);
    }
  }

  TEST_CASE("a patch without light has no tilt") {
    const stack::PatchTilt tilt(kSide, 0.1);
    const Displacement found = tilt.between(spectrum::Spectrum(kSide), moved({}, {}));
    CHECK(found == Displacement{});
  }
}
