#include "finish/uncovered.h"

#include <algorithm>
#include <utility>

namespace lull::finish {

namespace {

// Sums over squares of 2 x 2 px; at the right and below what is there.
Plane halved(const Plane& plane) {
  Plane out((plane.width() + 1) / 2, (plane.height() + 1) / 2);
  for (int y = 0; y < plane.height(); ++y)
    for (int x = 0; x < plane.width(); ++x) out.row(y / 2)[x / 2] += plane.row(y)[x];
  return out;
}

// A coarser picture at a place of the finer one, bilinear.
float read(const Plane& coarse, int x, int y) {
  const float at_x = 0.5F * (static_cast<float>(x) - 0.5F);
  const float at_y = 0.5F * (static_cast<float>(y) - 0.5F);
  const auto split = [](float at, int count, int& low, int& high) {
    const float kept = std::clamp(at, 0.0F, static_cast<float>(count - 1));
    low = static_cast<int>(kept);
    high = std::min(low + 1, count - 1);
    return kept - static_cast<float>(low);
  };
  int left = 0;
  int right = 0;
  int upper = 0;
  int lower = 0;
  const float across = split(at_x, coarse.width(), left, right);
  const float down = split(at_y, coarse.height(), upper, lower);
  const float* a = coarse.row(upper);
  const float* b = coarse.row(lower);
  const float above = a[left] + across * (a[right] - a[left]);
  const float below = b[left] + across * (b[right] - b[left]);
  return above + down * (below - above);
}

// @param light  times its weight, destroyed. @param weight  from 0 to 1.
Plane filled(Plane light, const Plane& weight) {
  bool whole = true;
  for (int y = 0; y < light.height() && whole; ++y)
    whole =
        std::all_of(weight.row(y), weight.row(y) + weight.width(), [](float w) { return w >= 1; });
  if (whole || light.size().area_px() == 1) {
    for (int y = 0; y < light.height(); ++y)
      for (int x = 0; x < light.width(); ++x) light.row(y)[x] /= std::max(weight.row(y)[x], 1e-20F);
    return light;
  }
  // What has some weight counts in full one level up, or wide gaps would never close.
  Plane sum = halved(light);
  Plane shares = halved(weight);
  for (int y = 0; y < sum.height(); ++y) {
    for (int x = 0; x < sum.width(); ++x) {
      const float share = shares.row(y)[x];
      if (share <= 0) continue;
      const float kept = std::min(share, 1.0F);
      sum.row(y)[x] *= kept / share;
      shares.row(y)[x] = kept;
    }
  }
  const Plane coarse = filled(std::move(sum), shares);
  for (int y = 0; y < light.height(); ++y) {
    for (int x = 0; x < light.width(); ++x) {
      const float missing = 1 - weight.row(y)[x];
      if (missing > 0) light.row(y)[x] += missing * read(coarse, x, y);
    }
  }
  return light;
}

}  // namespace

Plane continued_over(PlaneView picture, PlaneView covered) {
  Plane light = Plane::copy_of(picture);
  clear_uncovered(light, covered);
  return filled(std::move(light), Plane::copy_of(covered));
}

void clear_uncovered(Plane& picture, PlaneView covered) {
  for (int y = 0; y < picture.height(); ++y)
    for (int x = 0; x < picture.width(); ++x)
      if (covered.row(y)[x] == 0) picture.row(y)[x] = 0;
}

}  // namespace lull::finish
