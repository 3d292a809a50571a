#pragma once

#include <cstddef>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"
#include "files/picture.h"

namespace lull::run {

/// A large picture reduced while its parts pass by, in any order that is always the same.
class Reduction {
 public:
  /// @param most_px  of the reduced picture, about.
  Reduction(Size picture, std::size_t channels, double most_px);

  /// Pixels of the picture for one of the reduced one, along each side.
  [[nodiscard]] int side() const { return side_; }

  /// A part of the picture. @param covered  1 where it shows something, else 0.
  void add(const files::PictureView& part, PlaneView covered, int x0, int y0);

  /// Means over what is covered; 0 where nothing is.
  [[nodiscard]] files::Picture picture() const;

  /// Share of each pixel that is covered.
  [[nodiscard]] Plane covered() const;

 private:
  Size picture_;
  int side_;
  std::vector<Plane> sums_;
  Plane counts_;
};

/// Single pixels of a large picture, evenly spread, as finish::levels_of() looks at them.
class PixelSample {
 public:
  PixelSample(Size picture, std::size_t channels);

  void add(const files::PictureView& part, int x0, int y0);

  [[nodiscard]] const files::Picture& picture() const { return out_; }

 private:
  int step_;
  files::Picture out_;
};

}  // namespace lull::run
