#include "judge/mosaic.h"

#include <algorithm>
#include <cmath>

#include "align/spline_plane.h"
#include "core/error.h"
#include "core/parallel.h"
#include "judge/mosaic_blur.h"

namespace lull::judge {

namespace {

constexpr int kTilePx = 512;
constexpr float kLit = 0.02F;  // of the brightest light of the scene

float brightest(PlaneView plane) {
  float most = 0;
  for (int y = 0; y < plane.height_px; ++y)
    most = std::max(most, *std::max_element(plane.row(y), plane.row(y) + plane.width_px));
  return most;
}

Plane grey(const files::Picture& picture) {
  const std::vector<PlaneView> channels = picture.view().channels;
  return mean_plane(channels);
}

// 1 where some pixel within `reach` is not 0, along the rows or down the columns.
Plane widened(PlaneView mask, int reach, bool down) {
  Plane out(mask.size());
  for (int y = 0; y < mask.height_px; ++y) {
    for (int x = 0; x < mask.width_px; ++x) {
      if (mask.row(y)[x] == 0) continue;
      for (int i = -reach; i <= reach; ++i) {
        const int u = down ? x : x + i;
        const int v = down ? y + i : y;
        if (u >= 0 && v >= 0 && u < mask.width_px && v < mask.height_px) out.row(v)[u] = 1;
      }
    }
  }
  return out;
}

Plane inverted(const Plane& mask) {
  Plane out(mask.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) out.row(y)[x] = mask.row(y)[x] == 0 ? 1.0F : 0.0F;
  }
  return out;
}

// Squares of nothing but 0, and a rim around them.
Plane covered_of(const Plane& picture) {
  constexpr int kHalfSquare = 4;
  constexpr int kRim = 4;
  const auto square = [](const Plane& mask, int reach) {
    return widened(widened(mask.view(), reach, false).view(), reach, true);
  };
  const Plane empty = inverted(square(picture, kHalfSquare));
  return inverted(square(empty, kHalfSquare + kRim));
}

// The picture on the grid of the scene.
class Bringer {
 public:
  explicit Bringer(const Plane& picture)
      : size_(picture.size()), spline_(picture.view()), covered_(covered_of(picture)) {}

  [[nodiscard]] Brought brought(Size scene, const Pose& pose, const ShiftMap& map) const {
    Brought out{Plane(scene), Plane(scene)};
    parallel_for(scene.height_px, [&](std::int64_t row_number) {
      const int y = static_cast<int>(row_number);
      for (int x = 0; x < scene.width_px; ++x) {
        const Displacement moved = map.at(x, y);
        const Displacement at = pose.seen_at(x + moved.x_px, y + moved.y_px);
        const auto i = static_cast<int>(std::lround(at.x_px));
        const auto j = static_cast<int>(std::lround(at.y_px));
        if (i < 0 || j < 0 || i >= size_.width_px || j >= size_.height_px) continue;
        if (covered_.row(j)[i] == 0) continue;
        out.covered.row(y)[x] = 1;
        out.light.row(y)[x] = spline_.at(at.x_px, at.y_px);
      }
    });
    return out;
  }

 private:
  Size size_;
  align::SplinePlane spline_;
  Plane covered_;
};

Displacement middle_of(Size size) {
  return {0.5 * (size.width_px - 1), 0.5 * (size.height_px - 1)};
}

struct RefinedPose {
  Pose pose;
  std::size_t found = 0;  ///< patches that fit it
};

// Patches, on pictures that are reduced first, so that they reach far enough.
RefinedPose refined(Pose pose, PlaneView scene, const Plane& picture) {
  constexpr int kSmallPx = 1300;
  const int longest = std::max(scene.width_px, scene.height_px);
  const int side = (longest + kSmallPx - 1) / kSmallPx;
  std::size_t found = 0;
  for (const int reduction : {side, side, 1}) {
    const Plane small_scene = mean_of_squares(scene, reduction);
    const Bringer small(mean_of_squares(picture.view(), reduction));
    const PatchShifts shifts = find_patch_shifts(
        small_scene.view(), small.brought(small_scene.size(), pose.reduced(reduction), {}));
    const Displacement middle = pose.reduced(reduction).scene_middle;
    const PoseChange change = fit_change(shifts.found, middle);
    pose = pose.after({change.moved.x_px * reduction, change.moved.y_px * reduction}, change.grows,
                      change.turns);
    found = shifts.found.size();
  }
  return {pose, found};
}

// Of poses either way up, the one whose detail fits.
Pose best_pose(PlaneView scene, const Plane& picture) {
  RefinedPose best;
  for (const Pose& pose : find_poses(scene, picture.view())) {
    const RefinedPose one = refined(pose, scene, picture);
    if (best.found == 0 || one.found > best.found) best = one;
  }
  return best.pose;
}

double share_covered(const MosaicTruth& truth, const Plane& covered) {
  constexpr int kStep = 8;
  double shown = 0;
  double there = 0;
  for (int y = 0; y < covered.height(); y += kStep) {
    for (int x = 0; x < covered.width(); x += kStep) {
      if (!truth.shown(x, y)) continue;
      ++shown;
      there += static_cast<double>(covered.row(y)[x]);
    }
  }
  return there / std::max(shown, 1.0);
}

// scene ~ gain light + offset, by least squares over what is covered.
void fit_light(PlaneView scene, const Brought& brought, MosaicVerdict& verdict) {
  double n = 0;
  double sx = 0;
  double sy = 0;
  double sxx = 0;
  double sxy = 0;
  for (int y = 0; y < scene.height_px; ++y) {
    for (int x = 0; x < scene.width_px; ++x) {
      if (brought.covered.row(y)[x] == 0) continue;
      const auto a = static_cast<double>(brought.light.row(y)[x]);
      const auto b = static_cast<double>(scene.row(y)[x]);
      ++n;
      sx += a;
      sy += b;
      sxx += a * a;
      sxy += a * b;
    }
  }
  const double spread = n * sxx - sx * sx;
  if (!(spread > 0)) throw InputError("the mosaic has no light where its truth has some");
  verdict.gain = (n * sxy - sx * sy) / spread;
  verdict.offset = (sy - verdict.gain * sx) / n;
}

// Sums over what is covered and lit of one tile.
struct TileSums {
  double count = 0;
  double squares = 0;
  double light = 0;
  double wanted = 0;
};

TileSums sums_of(PlaneView scene, const Brought& fitted, const Box& box, float least) {
  TileSums sums;
  for (int y = box.y0; y < box.y1; ++y) {
    for (int x = box.x0; x < box.x1; ++x) {
      if (fitted.covered.row(y)[x] == 0 || scene.row(y)[x] < least) continue;
      const auto light = static_cast<double>(fitted.light.row(y)[x]);
      const auto wanted = static_cast<double>(scene.row(y)[x]);
      ++sums.count;
      sums.squares += (light - wanted) * (light - wanted);
      sums.light += light;
      sums.wanted += wanted;
    }
  }
  return sums;
}

double psnr(const TileSums& sums, double peak) {
  return 10 * std::log10(peak * peak * sums.count / std::max(sums.squares, 1e-30));
}

double rms_shift(const std::vector<PatchShift>& shifts, const Box& box) {
  double squares = 0;
  double count = 0;
  for (const PatchShift& one : shifts) {
    if (one.x < box.x0 || one.x >= box.x1 || one.y < box.y0 || one.y >= box.y1) continue;
    ++count;
    squares += one.shift.x_px * one.shift.x_px + one.shift.y_px * one.shift.y_px;
  }
  return std::sqrt(squares / std::max(count, 1.0));
}

void judge_tiles(PlaneView scene, const Brought& fitted, const PatchShifts& shifts,
                 MosaicVerdict& verdict) {
  const float peak = brightest(scene);
  TileSums all;
  for (int y = 0; y < scene.height_px; y += kTilePx) {
    for (int x = 0; x < scene.width_px; x += kTilePx) {
      const Box box =
          Box{x, y, x + kTilePx, y + kTilePx}.intersection({0, 0, scene.width_px, scene.height_px});
      const TileSums sums = sums_of(scene, fitted, box, kLit * peak);
      if (sums.count == 0) continue;
      const double area = static_cast<double>(box.width_px()) * box.height_px();
      verdict.tiles.push_back({{x, y},
                               sums.count / area,
                               psnr(sums, static_cast<double>(peak)),
                               100 * (sums.light / sums.wanted - 1),
                               rms_shift(shifts.found, box)});
      all.count += sums.count;
      all.squares += sums.squares;
    }
  }
  verdict.psnr_db = psnr(all, static_cast<double>(peak));
}

}  // namespace

MosaicVerdict judge_mosaic(const files::Picture& mosaic, const MosaicTruth& truth) {
  const PlaneView scene = truth.picture.view();
  const Size size = scene.size();
  MosaicVerdict verdict;
  const Plane picture = grey(mosaic);
  verdict.pose = best_pose(scene, picture);
  const Bringer bringer(picture);
  Brought brought = bringer.brought(size, verdict.pose, {});
  verdict.covered = share_covered(truth, brought.covered);
  const PatchShifts coarse = find_patch_shifts(scene, brought);
  if (coarse.found.empty()) throw InputError("the mosaic does not show the detail of this truth");
  // Blur moves the middle of what is lit from one side: once it is known, both are blurred alike.
  Plane alike = through_blur_of(bringer.brought(size, verdict.pose, ShiftMap(coarse)), scene);
  const PatchShifts shifts = find_patch_shifts(alike.view(), brought);
  if (shifts.found.empty()) throw InputError("the mosaic does not show the detail of this truth");
  verdict.patches = static_cast<int>(shifts.found.size());
  verdict.not_found = shifts.not_found;
  verdict.distortion_rms_px = rms_left(shifts.found, middle_of(size));
  verdict.distortion_3000 = left_in_windows(shifts.found, size);
  brought = bringer.brought(size, verdict.pose, ShiftMap(shifts));
  alike = through_blur_of(brought, scene);
  fit_light(alike.view(), brought, verdict);
  for (int y = 0; y < size.height_px; ++y) {
    float* row = brought.light.row(y);
    for (int x = 0; x < size.width_px; ++x)
      row[x] = static_cast<float>(verdict.gain * static_cast<double>(row[x]) + verdict.offset);
  }
  judge_tiles(scene, brought, shifts, verdict);
  const SmoothLight light =
      smooth_light(alike.view(), brought.light.view(), brought.covered.view());
  verdict.borders = steps_at_borders(light, truth);
  verdict.beside = steps_beside_borders(light, truth);
  verdict.anywhere = steps_anywhere(light);
  return verdict;
}

}  // namespace lull::judge
