#include "finish/channel_offsets.h"

#include <doctest/doctest.h>

#include <cmath>

#include "support/scene.h"

using namespace lull;

TEST_SUITE("finish/channel_offsets") {
  TEST_CASE("red and blue go where they are told, and green stays") {
    const test::Scene scene({64, 48}, 4, 2.0, 6.0);
    const Size size = {64, 48};
    const finish::ChannelOffsets offsets = {{0.4, -0.7}, {-1.25, 2}};
    // Each colour is recorded as far beside its place as it is moved back.
    const auto recorded = [&](Displacement offset) {
      return scene.seen(size, [&](int, int) { return offset; });
    };
    std::vector<Plane> picture;
    picture.push_back(recorded(offsets.red));
    picture.push_back(recorded({}));
    picture.push_back(recorded(offsets.blue));
    finish::move_channels(picture, offsets);
    for (std::size_t c = 0; c < 3; ++c) {
      for (int y = 8; y < 40; ++y) {
        for (int x = 8; x < 56; ++x)
          CHECK(std::abs(static_cast<double>(picture[c].row(y)[x]) - scene.at(x, y)) < 1e-3);
      }
    }
  }

  TEST_CASE("nothing is moved without offsets") {
    CHECK_FALSE(finish::ChannelOffsets{}.any());
    CHECK(finish::ChannelOffsets{}.margin_px() == 0);
    CHECK(finish::ChannelOffsets{{0, 0}, {0, -2.5}}.margin_px() > 3);
  }
}
