#pragma once

#include "files/picture.h"
#include "files/stored_picture.h"

namespace lull::desk {

/// Means over squares of a picture that comes in bands.
class BandReduction {
 public:
  /// The smallest squares of which at most so many are left.
  void begin(const files::StoredFacts& facts, std::int64_t most_px);

  /// The bands may cut squares.
  void take(const files::PictureView& band, int y0);

  /// What fills no square at the edges is left out.
  [[nodiscard]] const files::Picture& picture() const { return picture_; }

 private:
  int side_ = 1;
  files::Picture picture_;
};

}  // namespace lull::desk
