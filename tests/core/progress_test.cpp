#include "core/progress.h"

#include <doctest/doctest.h>

#include <cstdint>
#include <string_view>

#include "core/error.h"

using namespace lull;

TEST_SUITE("core/progress") {
  TEST_CASE("work within another stage shows nothing, and is cancelled with its run") {
    const CancelToken cancel;
    int shown = 0;
    const Progress progress([&](std::string_view, std::int64_t, std::int64_t) { ++shown; }, cancel);
    const Progress silent = progress.silent();
    silent.step("inner", 1, 2);
    CHECK(shown == 0);
    progress.step("outer", 1, 2);
    CHECK(shown == 1);
    cancel.cancel();
    CHECK_THROWS_AS(silent.step("inner", 2, 2), Interrupted);
  }
}
