#include "core/outcome.h"

#include <doctest/doctest.h>

#include <memory>
#include <set>

TEST_SUITE("core/outcome") {
  TEST_CASE("holds a value, also a move-only one, or a reason") {
    lull::Outcome<std::unique_ptr<int>> good(std::make_unique<int>(7));
    REQUIRE(good.ok());
    CHECK(*std::move(good).value() == 7);
    const lull::Outcome<std::unique_ptr<int>> bad(lull::Reject::weak_peak);
    CHECK_FALSE(bad.ok());
    CHECK(bad.reason() == lull::Reject::weak_peak);
  }

  TEST_CASE("every reason has a name of its own") {
    std::set<std::string_view> names;
    for (int i = 0; i <= static_cast<int>(lull::Reject::past_the_end); ++i) {
      names.insert(lull::reject_name(static_cast<lull::Reject>(i)));
    }
    CHECK(names.size() == static_cast<std::size_t>(lull::Reject::past_the_end) + 1);
    CHECK_FALSE(names.contains("unknown"));
  }
}
