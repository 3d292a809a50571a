#include "run/memory_size.h"

#include <doctest/doctest.h>

#include "core/error.h"

using namespace lull;

TEST_SUITE("run/memory_size") {
  // IEC 80000-13: Mi = 2^20, Gi = 2^30. Memory is sold and reported so, also where the i is left
  // out.
  TEST_CASE("units are powers of 1024") {
    CHECK(run::parse_memory_size("1G") == 1073741824);
    CHECK(run::parse_memory_size("1.5GiB") == 1610612736);
    CHECK(run::parse_memory_size("800m") == 838860800);
    CHECK(run::parse_memory_size("65536K") == 67108864);
    CHECK(run::parse_memory_size("100000000") == 100000000);
    CHECK(run::parse_memory_size("auto") == 0);
  }

  TEST_CASE("what is no size, or too small to work in, is refused") {
    for (const char* text : {"", "G", "1T", "-2G", "2 G", "nan", "inf", "1e300G", "63M", "0"}) {
      CAPTURE(text);
      CHECK_THROWS_AS(static_cast<void>(run::parse_memory_size(text)), UsageError);
    }
  }
}
