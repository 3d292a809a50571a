#include "core/neighbourhood.h"

#include <algorithm>

namespace lull {

namespace {

// Along x, then along y.
template <class Choose>
Plane chosen_nearby(const Plane& plane, int reach, const Choose& choose) {
  Plane across(plane.size());
  for (int y = 0; y < plane.height(); ++y) {
    const float* row = plane.row(y);
    for (int x = 0; x < plane.width(); ++x) {
      float best = row[x];
      for (int i = std::max(x - reach, 0); i <= std::min(x + reach, plane.width() - 1); ++i)
        best = choose(best, row[i]);
      across.row(y)[x] = best;
    }
  }
  Plane out = Plane::copy_of(across.view());
  for (int y = 0; y < plane.height(); ++y) {
    float* best = out.row(y);
    for (int j = std::max(y - reach, 0); j <= std::min(y + reach, plane.height() - 1); ++j) {
      for (int x = 0; x < plane.width(); ++x) best[x] = choose(best[x], across.row(j)[x]);
    }
  }
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
