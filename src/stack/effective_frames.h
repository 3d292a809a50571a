#pragma once

#include <vector>

#include "align/shift_field.h"
#include "core/geometry.h"
#include "core/plane.h"

namespace lull::stack {

/// Values on the nodes of the shift fields that lie in the picture, row by row.
struct NodeMap {
  Plane values;        ///< a sample a node
  double step_px = 0;  ///< of the picture, from one node to the next, either way
  double x0_px = 0;    ///< of the first node, in the picture
  double y0_px = 0;

  /// Of the node that is nearest to a place of the picture, px.
  [[nodiscard]] float nearest(double x_px, double y_px) const;
};

/// How many frames count at each place: so many frames of equal weight would have the same noise,
/// (sum of weights)^2 / (sum of squared weights) (Kish 1965, survey::Survey Sampling, from memory).
class EffectiveFrames {
 public:
  EffectiveFrames() = default;
  explicit EffectiveFrames(Size reference);

  /// Adds a frame of that size with these weights on the nodes of its field. Outside the frame the
  /// weight is 0.
  void add(const align::ShiftField& field, const std::vector<float>& weights, Size frame);

  /// @param crop what of the reference the picture shows.
  [[nodiscard]] NodeMap map(const Box& crop) const;

 private:
  align::ShiftField grid_;  ///< for its nodes
  std::vector<double> sum_;
  std::vector<double> squares_;
};

}  // namespace lull::stack
