#include "report/picture_set.h"

#include <doctest/doctest.h>

using namespace lull;
using namespace lull::report;

TEST_SUITE("report/picture_set") {
  TEST_CASE("pictures stay within the bytes they may take, and report what was done for it") {
    auto picture = files::make_picture({400, 300}, 1);
    unsigned state = 7;
    for (int y = 0; y < 300; ++y) {
      for (int x = 0; x < 400; ++x) {
        state = state * 1664525U + 1013904223U;
        picture.channels[0].row(y)[x] = static_cast<float>(state >> 8U) / 16777216.0F;
      }
    }
    const std::vector<PictureToShow> shown = {{"a", "", picture.view()}, {"b", "", picture.view()}};
    const auto length = [](const PictureSet& set) {
      return set.uris[0].size() + set.uris[1].size();
    };
    const PictureSet large = picture_set(shown, 1'000'000);
    CHECK(large.coding == Coding::png);
    CHECK(large.uris[0].starts_with("data:image/png;base64,"));
    CHECK(large.uris[0] == large.uris[1]);
    const PictureSet middle = picture_set(shown, 300'000);
    CHECK(middle.coding == Coding::jpeg);
    CHECK(middle.uris[1].starts_with("data:image/jpeg;base64,"));
    CHECK(middle.reduction == 1);
    CHECK(length(middle) <= 300'000);
    const PictureSet small = picture_set(shown, 20'000);
    CHECK(small.reduction > 1);
    CHECK(length(small) <= 20'000);
  }
}
