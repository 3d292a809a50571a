#pragma once

#include <vector>

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::lab {

/// Geometry of a scene around the frame. It extends beyond the frame by a margin, and is finer by a
/// whole factor where the camera's pixels are too coarse for the optics.
struct Canvas {
  int width_px = 0;  ///< of the frame
  int height_px = 0;
  int margin_px = 0;
  int fineness = 1;  ///< canvas pixels on a side of a frame pixel

  [[nodiscard]] Size size() const {
    return {(width_px + 2 * margin_px) * fineness, (height_px + 2 * margin_px) * fineness};
  }

  /// Canvas coordinate of a frame coordinate.
  [[nodiscard]] double from_frame(double px) const {
    return (px + margin_px) * fineness + 0.5 * (fineness - 1);
  }

  [[nodiscard]] double to_frame(double place) const {
    return (place - 0.5 * (fineness - 1)) / fineness - margin_px;
  }
};

/// Displacements on a square grid of nodes over the frame and a rim around it, px.
struct NodeField {
  static constexpr int kStep = 16;
  static constexpr int kRim = 32;

  int columns = 0;
  int rows = 0;
  std::vector<float> x;
  std::vector<float> y;

  NodeField() = default;
  NodeField(int width_px, int height_px);

  /// Frame coordinate of a node's column or row.
  [[nodiscard]] static double place(int index) { return index * kStep - kRim; }

  /// Bilinear; beyond the nodes that of the nearest.
  [[nodiscard]] Displacement at(double x_px, double y_px) const;
};

/// The part of a canvas that a frame sees: frame pixel q shows the canvas at the place p for which
/// p + shift + field(p) = q. `splines` holds coefficients of a cubic B-spline (Unser 1999, IEEE
/// Signal Processing Magazine 16, 22), which follows band-limited pictures closely; frame pixels
/// are the means of their canvas pixels.
[[nodiscard]] Plane seen(const Plane& splines, const Canvas& canvas, Displacement shift,
                         const NodeField& field);

}  // namespace lull::lab
