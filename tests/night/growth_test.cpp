#include "night/growth.h"

#include <doctest/doctest.h>

using namespace lull::night;
using lull::capture::FoundCapture;

TEST_SUITE("night/growth") {
  namespace {

  using std::chrono::seconds;

  FoundCapture found(std::uintmax_t bytes, std::int64_t modified_s) {
    FoundCapture one;
    one.path = "a.ser";
    one.bytes = bytes;
    one.modified_s = modified_s;
    return one;
  }

  }  // namespace

  TEST_CASE("a capture is complete once it stood still, by a clock that does not jump") {
    Growth growth;
    const Growth::Clock::time_point begin{seconds(1000)};
    growth.look({found(10, 500)}, begin, 501);
    CHECK(growth.may_grow("a.ser"));
    growth.look({found(20, 502)}, begin + seconds(2), 503);
    CHECK(growth.may_grow("a.ser"));
    growth.look({found(20, 502)}, begin + seconds(4), 505);
    CHECK(growth.may_grow("a.ser"));
    growth.look({found(20, 502)}, begin + seconds(2) + Growth::kStill, 507);
    CHECK_FALSE(growth.may_grow("a.ser"));
    growth.look({found(30, 512)}, begin + seconds(12), 513);
    CHECK(growth.may_grow("a.ser"));
    CHECK_FALSE(growth.may_grow("other.ser"));
  }

  TEST_CASE("an old file is complete at once, one from the future is looked at") {
    Growth growth;
    const Growth::Clock::time_point begin{seconds(1000)};
    growth.look({found(10, 500)}, begin, 500 + Growth::kOld_s);
    CHECK_FALSE(growth.may_grow("a.ser"));
    growth.look({found(11, 90'000)}, begin + seconds(1), 600);
    CHECK(growth.may_grow("a.ser"));
    growth.look({found(11, 90'000)}, begin + seconds(1) + Growth::kStill, 600);
    CHECK_FALSE(growth.may_grow("a.ser"));
  }
}
