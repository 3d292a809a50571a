#include "capture/frame.h"

#include <doctest/doctest.h>

#include <string>

using namespace lull::capture;

TEST_SUITE("capture/frame") {
  TEST_CASE("a mosaic's name spells the colours of its 2 x 2 block row by row") {
    const std::string letters = "RGB";
    for (const Cfa cfa : {Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg}) {
      std::string spelled;
      for (int y = 0; y < 2; ++y) {
        for (int x = 0; x < 2; ++x) {
          spelled += letters[static_cast<std::size_t>(cfa_colour_at(cfa, x, y))];
          CHECK(cfa_colour_at(cfa, x, y) == cfa_colour_at(cfa, x + 2, y + 4));
        }
      }
      CHECK(spelled == cfa_name(cfa));
    }
  }
}
