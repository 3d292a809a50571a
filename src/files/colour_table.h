#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "files/bitmap.h"

namespace lull::files {

using Rgb = std::array<std::uint8_t, 3>;

/// How often colours occur in pictures of 8 bits, in steps of 8 levels.
class ColourCount {
 public:
  ColourCount();

  void add(const Bitmap& picture);

  /// At most 256 colours for these pictures: median cut (Heckbert 1982, Computer Graphics 16, 297).
  /// The box whose colours spread most is cut next, at their median along its widest side. Pictures
  /// that were all gray get the 256 grays.
  [[nodiscard]] std::vector<Rgb> table() const;

 private:
  struct Bin {
    std::int64_t count = 0;
    std::array<std::int64_t, 3> sum{};
  };

  struct Cut;

  std::vector<Bin> bins_;
  bool gray_ = true;
};

/// Pictures in the colours of a table: each pixel has the index of the nearest one. An ordered
/// pattern of 8 x 8 px (Bayer 1973, from memory) hides the steps between the colours. It stands
/// still, so that films do not flicker.
class IndexedColours {
 public:
  /// @param table  1 to 256 colours.
  explicit IndexedColours(std::vector<Rgb> table);

  [[nodiscard]] const std::vector<Rgb>& table() const { return table_; }

  /// Row y of the picture. `out` holds its width.
  void row(const Bitmap& picture, int y, std::uint8_t* out) const;

 private:
  [[nodiscard]] std::uint8_t nearest(const std::array<int, 3>& colour) const;

  std::vector<Rgb> table_;
  std::vector<std::uint8_t> nearest_;  ///< by colour, in steps of 4 levels
  bool grays_ = false;                 ///< the table is the 256 grays
  double step_ = 0;                    ///< between neighbouring colours, levels of a channel
};

}  // namespace lull::files
