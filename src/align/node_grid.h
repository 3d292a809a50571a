#pragma once

#include <cstddef>
#include <vector>

namespace lull::align {

/// Sums over node squares, and their windowed sums: each node's value becomes the sum over its
/// neighbours with Gaussian weights (1 at the node itself). Nothing is renormalised at the edges.
class NodeWindow {
 public:
  NodeWindow(int columns, int rows, double sigma_px);

  /// grid: columns x rows floats, in place.
  void apply(std::vector<float>& grid, std::vector<float>& scratch) const;

 private:
  int columns_;
  int rows_;
  std::vector<float> taps_;  ///< taps_[d] = weight at distance d nodes
};

}  // namespace lull::align
