#include "run/capture_share.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

using namespace lull;
using namespace lull::run;

TEST_SUITE("run/capture_share") {
  TEST_CASE("frames count for the capture that they are of") {
    // Two captures of 3 and 2 frames; one that was not reached; frame 1 cannot be used.
    std::vector<quality::FrameRecord> records(5);
    for (std::size_t i = 0; i < records.size(); ++i) records[i].index = static_cast<FrameIndex>(i);
    records[1].reject = Reject::black;
    const auto shares =
        capture_shares({"a.ser", "b\xFF.ser", "c.ser"}, {0, 3}, records, {4, 0, 3, 2});
    REQUIRE(shares.size() == 3);
    CHECK(shares[0].frames == 3);
    CHECK(shares[0].usable == 2);
    CHECK(shares[0].kept == 2);
    CHECK(shares[1].frames == 2);
    CHECK(shares[1].kept == 2);
    CHECK(shares[1].of_stack == 0.5);
    CHECK(shares[2].frames == 0);
    CHECK(share_text(shares[0]) == "50% of the stack, of 2 usable frames, 3 in the capture");
    CHECK_NOTHROW(static_cast<void>(to_json(shares).dump()));
    CHECK(capture_shares({"a.ser"}, {0}, records, {0}).empty());
  }
}
