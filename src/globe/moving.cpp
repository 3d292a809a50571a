#include "globe/moving.h"

#include <algorithm>
#include <cmath>

#include "core/parallel.h"
#include "core/statistics.h"
#include "globe/rings.h"

namespace lull::globe {

namespace {

constexpr double kOnGlobe = 0.125;   // of its brightness
constexpr double kBeside = 0.05;     // likewise
constexpr double kLimbBlurs = 3;     // of the blur: so far the limb reaches
constexpr double kLeastLimb_px = 3;  // likewise
constexpr double kLimbCosine = 0.3;
constexpr double kAround = 2.5;  // of the blur

// Means over squares of 2 reach + 1 px, by rows and then by columns.
Plane box_mean(const Plane& plane, int reach) {
  Plane from = Plane::copy_of(plane.view());
  for (const bool along_rows : {true, false}) {
    Plane out(from.size());
    parallel_for(from.height(), [&](std::int64_t row) {
      const int y = static_cast<int>(row);
      for (int x = 0; x < from.width(); ++x) {
        float sum = 0;
        for (int i = -reach; i <= reach; ++i)
          sum += along_rows ? from.row(y)[std::clamp(x + i, 0, from.width() - 1)]
                            : from.row(std::clamp(y + i, 0, from.height() - 1))[x];
        out.row(y)[x] = sum / static_cast<float>(2 * reach + 1);
      }
    });
    from = std::move(out);
  }
  return from;
}

// How much a picture may differ at each place; 0: it is not looked at.
Plane bounds_of(const GlobeView& view, Size size, double brightness, double limb_px) {
  const Plane rings = distance_from_rings(view, {0, 0, size.width_px, size.height_px});
  GlobePlace wider = view.place();
  wider.radius_px += limb_px;
  const GlobeView outer(view.shape(), wider);
  wider.radius_px = std::max(1.0, view.place().radius_px - limb_px);
  const GlobeView inner(view.shape(), wider);
  Plane out(size);
  parallel_for(size.height_px, [&](std::int64_t row) {
    const int y = static_cast<int>(row);
    for (int x = 0; x < size.width_px; ++x) {
      double bound = 0;
      if (!rings.empty() && static_cast<double>(rings.row(y)[x]) < limb_px) continue;
      if (!outer.holds(x, y)) bound = kBeside;
      if (inner.holds(x, y)) {
        const auto seen = view.seen_at(x, y);
        const bool well = seen && seen->cos_observer > kLimbCosine && seen->cos_sun > kLimbCosine;
        bound = well ? kOnGlobe : 0;
      }
      out.row(y)[x] = static_cast<float>(bound * brightness);
    }
  });
  return out;
}

}  // namespace

Plane moving_places(const std::vector<GlobePicture>& pictures, const Derotation& nothing,
                    const GlobeView& at_moment, double brightness, double blur_px) {
  std::vector<Plane> turned;
  for (const GlobePicture& picture : pictures) {
    GlobePicture one = picture;
    one.planes.resize(1);
    Derotation alone = nothing.like();
    alone.add(one);
    turned.push_back(box_mean(alone.finish().planes.front(), 1));
  }
  const Size size = turned.front().size();
  const double limb_px = std::max(kLeastLimb_px, kLimbBlurs * blur_px);
  Plane out = bounds_of(at_moment, size, brightness, limb_px);
  parallel_for(size.height_px, [&](std::int64_t row) {
    const int y = static_cast<int>(row);
    std::vector<float> values(turned.size());
    for (int x = 0; x < size.width_px; ++x) {
      const float bound = out.row(y)[x];
      for (std::size_t i = 0; i < turned.size(); ++i) values[i] = turned[i].row(y)[x];
      const auto [low, high] = std::minmax_element(values.begin(), values.end());
      const float most = *high;
      const float least = *low;
      const float middle = median(values);
      out.row(y)[x] = bound > 0 && std::max(most - middle, middle - least) > bound ? 1.0F : 0.0F;
    }
  });
  // A place without neighbours is noise. Around the others lies the rest of what moves.
  const Plane crowd = box_mean(out, 1);
  const int around = std::max(2, static_cast<int>(std::ceil(kAround * blur_px)));
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) out.row(y)[x] = crowd.row(y)[x] > 0.3F ? 1.0F : 0.0F;
  }
  Plane wide = box_mean(out, around);
  const float some = 0.5F / static_cast<float>((2 * around + 1) * (2 * around + 1));
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) out.row(y)[x] = wide.row(y)[x] > some ? 1.0F : 0.0F;
  }
  return box_mean(out, 1);
}

}  // namespace lull::globe
