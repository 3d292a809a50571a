#include "core/lane_sort.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <limits>
#include <random>
#include <vector>

namespace {

template <std::size_t kCount>
void check_against_sort() {
  constexpr std::size_t kLanes = 16;
  std::mt19937 random(7);
  std::uniform_int_distribution<int> level(-20, 20);  // equal values occur
  lull::Lanes<kCount, kLanes> lists;
  for (auto& row : lists) {
    for (float& value : row) value = static_cast<float>(level(random));
  }
  lists[kCount / 2][3] = std::numeric_limits<float>::infinity();
  auto expected = lists;
  for (std::size_t lane = 0; lane < kLanes; ++lane) {
    std::vector<float> list;
    for (const auto& row : lists) list.push_back(row[lane]);
    std::sort(list.begin(), list.end());
    for (std::size_t i = 0; i < kCount; ++i) expected[i][lane] = list[i];
  }
  lull::sort_lanes(lists);
  CHECK(lists == expected);
}

}  // namespace

TEST_SUITE("core/lane_sort") {
  TEST_CASE("each list is sorted as by the standard library") {
    check_against_sort<1>();
    check_against_sort<2>();
    check_against_sort<8>();
    check_against_sort<32>();
  }
}
