#include "finish/pose.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <optional>

#include "align/spline_plane.h"
#include "core/parallel.h"

namespace lull::finish {

namespace {

constexpr double kQuarter = 90;
constexpr double kSlack_px = 1e-6;  // of rounding, in the size of what was turned

// Quarter turns clockwise, 0 to 3; none for other angles.
std::optional<int> quarters_of(double rotation_deg) {
  const double quarters = rotation_deg / kQuarter;
  if (quarters != std::round(quarters)) return std::nullopt;
  return ((static_cast<int>(quarters) % 4) + 4) % 4;
}

struct Rotation {
  double cosine;
  double sine;

  explicit Rotation(double degrees)
      : cosine(std::cos(degrees * std::numbers::pi / 180)),
        sine(std::sin(degrees * std::numbers::pi / 180)) {}
};

Plane flipped(PlaneView picture, Turn flip) {
  Plane out(picture.size());
  for (int y = 0; y < out.height(); ++y) {
    const float* from = picture.row(swaps_rows(flip) ? picture.height_px - 1 - y : y);
    if (swaps_columns(flip))
      std::reverse_copy(from, from + picture.width_px, out.row(y));
    else
      std::copy_n(from, picture.width_px, out.row(y));
  }
  return out;
}

Plane quarter_turned(PlaneView picture) {
  Plane out(picture.height_px, picture.width_px);
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) out.row(y)[x] = picture.at(y, picture.height_px - 1 - x);
  }
  return out;
}

Plane turned(PlaneView picture, double rotation_deg, float outside) {
  Plane out(posed_size(picture.size(), {Turn::none, rotation_deg}));
  const align::SplinePlane between(picture);
  const Rotation turn(rotation_deg);
  const auto middle = [](int length) { return (length - 1) / 2.0; };
  parallel_for(out.height(), [&](int y) {
    const double dy = y - middle(out.height());
    for (int x = 0; x < out.width(); ++x) {
      const double dx = x - middle(out.width());
      const double from_x = middle(picture.width_px) + turn.cosine * dx + turn.sine * dy;
      const double from_y = middle(picture.height_px) - turn.sine * dx + turn.cosine * dy;
      const bool inside = from_x >= -0.5 && from_y >= -0.5 && from_x <= picture.width_px - 0.5 &&
                          from_y <= picture.height_px - 0.5;
      out.row(y)[x] = inside ? between.at(from_x, from_y) : outside;
    }
  });
  return out;
}

}  // namespace

Size posed_size(Size size, const Pose& pose) {
  if (const auto quarters = quarters_of(pose.rotation_deg))
    return *quarters % 2 == 0 ? size : Size{size.height_px, size.width_px};
  const Rotation turn(pose.rotation_deg);
  const auto around = [&](double along, double across) {
    const double length = along * std::abs(turn.cosine) + across * std::abs(turn.sine);
    return static_cast<int>(std::ceil(length - kSlack_px));
  };
  return {around(size.width_px, size.height_px), around(size.height_px, size.width_px)};
}

bool keeps_samples(const Pose& pose) { return quarters_of(pose.rotation_deg).has_value(); }

Box unposed(const Box& part, Size picture, const Pose& pose) {
  Box box = part;
  const int quarters = quarters_of(pose.rotation_deg).value_or(0);
  for (int i = quarters; i > 0; --i) {
    const int height = i % 2 == 1 ? picture.height_px : picture.width_px;  // before this turn
    box = {box.y0, height - box.x1, box.y1, height - box.x0};
  }
  if (swaps_columns(pose.flip))
    box = {picture.width_px - box.x1, box.y0, picture.width_px - box.x0, box.y1};
  if (swaps_rows(pose.flip))
    box = {box.x0, picture.height_px - box.y1, box.x1, picture.height_px - box.y0};
  return box;
}

Plane posed(PlaneView picture, const Pose& pose, float outside) {
  Plane out = flipped(picture, pose.flip);
  const auto quarters = quarters_of(pose.rotation_deg);
  if (!quarters) return turned(out.view(), pose.rotation_deg, outside);
  for (int i = 0; i < *quarters; ++i) out = quarter_turned(out.view());
  return out;
}

}  // namespace lull::finish
