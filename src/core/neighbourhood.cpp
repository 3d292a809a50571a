#include "core/neighbourhood.h"

#include <algorithm>

#include "core/parallel.h"

namespace lull {

namespace {

// Along x, then along y.
template <class Choose>
Plane chosen_nearby(const Plane& plane, int reach, const Choose& choose) {
  Plane across(plane.size());
  parallel_for(plane.height(), [&](std::int64_t i) {
    const float* row = plane.row(static_cast<int>(i));
    float* best = across.row(static_cast<int>(i));
    for (int x = 0; x < plane.width(); ++x) {
      best[x] = row[x];
      for (int k = std::max(x - reach, 0); k <= std::min(x + reach, plane.width() - 1); ++k)
        best[x] = choose(best[x], row[k]);
    }
  });
  Plane out = Plane::copy_of(across.view());
  parallel_for(plane.height(), [&](std::int64_t i) {
    const int y = static_cast<int>(i);
    float* best = out.row(y);
    for (int j = std::max(y - reach, 0); j <= std::min(y + reach, plane.height() - 1); ++j) {
      for (int x = 0; x < plane.width(); ++x) best[x] = choose(best[x], across.row(j)[x]);
    }
  });
  return out;
}

}  // namespace

Plane lowest_nearby(const Plane& plane, int reach) {
  return chosen_nearby(plane, reach, [](float a, float b) { return std::min(a, b); });
}

Plane highest_nearby(const Plane& plane, int reach) {
  return chosen_nearby(plane, reach, [](float a, float b) { return std::max(a, b); });
}

}  // namespace lull
