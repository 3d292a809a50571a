#include "judge/mosaic_pose.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/error.h"
#include "core/parallel.h"
#include "judge/image.h"
#include "judge/registration.h"

namespace lull::judge {

namespace {

constexpr int kLargestSidePx = 128;  // of the pictures compared
constexpr double kDegree = std::numbers::pi / 180;

Displacement middle(Size size) { return {0.5 * (size.width_px - 1), 0.5 * (size.height_px - 1)}; }

// The scene turned and scaled about its middle, dark beyond its edges.
Image posed(const Plane& scene, double turn_rad, double scale) {
  Image out(scene.size());
  const Displacement centre = middle(scene.size());
  const double cosine = std::cos(turn_rad) / scale;
  const double sine = std::sin(turn_rad) / scale;
  for (int y = 0; y < scene.height(); ++y) {
    for (int x = 0; x < scene.width(); ++x) {
      const double dx = x - centre.x_px;
      const double dy = y - centre.y_px;
      const double u = centre.x_px + cosine * dx + sine * dy;
      const double v = centre.y_px - sine * dx + cosine * dy;
      const int left = static_cast<int>(std::floor(u));
      const int top = static_cast<int>(std::floor(v));
      if (left < 0 || top < 0 || left + 1 >= scene.width() || top + 1 >= scene.height()) continue;
      const auto row = [&](int j) {
        const float* values = scene.row(top + j) + left;
        return static_cast<double>(values[0]) +
               (u - left) * static_cast<double>(values[1] - values[0]);
      };
      out.at(x, y) = row(0) + (v - top) * (row(1) - row(0));
    }
  }
  return out;
}

struct Candidate {
  double turn_rad = 0;
  double scale = 1;
  CoarseMatch match{};
};

std::vector<Candidate> candidates() {
  std::vector<Candidate> all;
  for (const double about_deg : {0.0, 180.0}) {
    for (const double turn_deg : {-1.2, 0.0, 1.2}) {
      for (const double scale : {0.985, 1.0, 1.015})
        all.push_back({(about_deg + turn_deg) * kDegree, scale});
    }
  }
  return all;
}

}  // namespace

Displacement Pose::seen_at(double x, double y) const {
  const double dx = scale * (x - scene_middle.x_px);
  const double dy = scale * (y - scene_middle.y_px);
  const double cosine = std::cos(turn_rad);
  const double sine = std::sin(turn_rad);
  return picture_middle + shift + Displacement{cosine * dx - sine * dy, sine * dx + cosine * dy};
}

Pose Pose::after(Displacement moved, double grows, double turns) const {
  Pose out = *this;
  out.shift =
      seen_at(scene_middle.x_px + moved.x_px, scene_middle.y_px + moved.y_px) - picture_middle;
  out.scale *= std::hypot(1 + grows, turns);
  out.turn_rad += std::atan2(turns, 1 + grows);
  return out;
}

Pose Pose::reduced(int side) const {
  // The middle of a square of pixels is that of its mean.
  const auto place = [side](Displacement full) {
    return Displacement{(full.x_px + 0.5) / side - 0.5, (full.y_px + 0.5) / side - 0.5};
  };
  Pose out = *this;
  out.scene_middle = place(scene_middle);
  out.picture_middle = place(picture_middle);
  out.shift = {shift.x_px / side, shift.y_px / side};
  return out;
}

Plane mean_of_squares(PlaneView plane, int side) {
  Plane out(plane.width_px / side, plane.height_px / side);
  parallel_for(out.height(), [&](std::int64_t row_number) {
    const int y = static_cast<int>(row_number);
    float* row = out.row(y);
    for (int j = 0; j < side; ++j) {
      const float* source = plane.row(y * side + j);
      for (int x = 0; x < out.width(); ++x) {
        for (int i = 0; i < side; ++i) row[x] += source[x * side + i];
      }
    }
    for (int x = 0; x < out.width(); ++x) row[x] /= static_cast<float>(side * side);
  });
  return out;
}

std::vector<Pose> find_poses(PlaneView scene, PlaneView picture) {
  constexpr double kLeastCorrelation = 0.3;
  constexpr double kNearlyAsLikely = 0.8;
  const int longest =
      std::max({scene.width_px, scene.height_px, picture.width_px, picture.height_px});
  const int side = std::max((longest + kLargestSidePx - 1) / kLargestSidePx, 1);
  const Plane small_scene = mean_of_squares(scene, side);
  const Plane small_picture = mean_of_squares(picture, side);
  if (std::min({small_scene.width(), small_scene.height(), small_picture.width(),
                small_picture.height()}) < 32)
    throw InputError("the mosaic is too narrow to be compared with its truth");
  const Image seen = image_of(small_picture.view());
  std::vector<Candidate> all = candidates();
  for (Candidate& one : all)
    one.match = find_coarse(seen, posed(small_scene, one.turn_rad, one.scale));
  std::sort(all.begin(), all.end(), [](const Candidate& a, const Candidate& b) {
    return a.match.correlation > b.match.correlation;
  });
  if (all.front().match.correlation < kLeastCorrelation)
    throw InputError("the mosaic does not show the scene of this truth");
  std::vector<Pose> out;
  for (const Candidate& one : all) {
    const bool same_way_up = std::cos(one.turn_rad - all.front().turn_rad) > 0;
    if (!out.empty() && same_way_up) continue;
    if (one.match.correlation < kNearlyAsLikely * all.front().match.correlation) break;
    Pose pose;
    pose.scene_middle = middle(scene.size());
    pose.picture_middle = middle(picture.size());
    pose.scale = one.scale;
    pose.turn_rad = one.turn_rad;
    // find_coarse: the small picture shows at x + shift what the posed scene shows at x.
    const Displacement seen_middle = middle(small_scene.size()) + one.match.shift;
    pose.shift =
        Displacement{(seen_middle.x_px + 0.5) * side - 0.5, (seen_middle.y_px + 0.5) * side - 0.5} -
        pose.picture_middle;
    out.push_back(pose);
    if (out.size() == 2) break;
  }
  return out;
}

}  // namespace lull::judge
