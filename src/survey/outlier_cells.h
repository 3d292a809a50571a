#pragma once

#include <deque>
#include <vector>

#include "core/geometry.h"
#include "quality/cell_grid.h"

namespace lull::survey {

/// Finds cells in which one frame alone shows far more detail than the frames around it in time:
/// the track of a satellite, an aircraft or a meteor. Such a frame looks sharp and is not.
///
/// A cell is an outlier when its energy is more than 8 times the 0.9 quantile of the last 32
/// frames, the highest of the cells around. Air does not reach that: at most 5.2 times in eight
/// captures from good to poor air, tracks at full scale 26 times and more on a surface
/// (bench/DECISIONS.md). From there a track continues through cells with more than 1.5 times their
/// own quantile, where a limb or a spot would hide it, and the cells beside count as touched. A
/// frame of which more than a quarter is so shows something else, and stays as it is.
class OutlierCells {
 public:
  /// @param energy  of the cells, noise included. @param offset  of the object, px.
  void see(const quality::CellGrid& energy, FrameOffset offset);

  /// To be called when all frames of a block were seen, before repaired(). Until 8 were, nothing
  /// is an outlier.
  void settle();

  /// The energies with those of outliers replaced: by the median of the frames around, times how
  /// much more detail the rest of this frame has than theirs.
  [[nodiscard]] quality::CellGrid repaired(const quality::CellGrid& energy,
                                           FrameOffset offset) const;

 private:
  // The object moves, and cells move with it, by whole ones.
  struct Steps {
    int columns = 0;
    int rows = 0;
  };

  struct Seen {
    quality::CellGrid energy;
    Steps steps;
  };

  struct Typical {
    float high = 0;         ///< the 0.9 quantile
    float high_around = 0;  ///< the highest of it and the cells beside
    float median = 0;
    bool known = false;
  };

  [[nodiscard]] static Steps steps_of(FrameOffset offset);
  void describe(int first_column, int row);
  void fill_unknown();
  [[nodiscard]] float high_around(int column, int row) const;
  [[nodiscard]] const Typical& typical_in(int x, int y, const Steps& steps) const;
  [[nodiscard]] std::vector<bool> outliers_in(const quality::CellGrid& energy,
                                              const Steps& steps) const;

  std::deque<Seen> seen_;
  // Of the object, from its first cell on.
  int left_ = 0;
  int top_ = 0;
  int columns_ = 0;
  int rows_ = 0;
  std::vector<Typical> typical_;
};

}  // namespace lull::survey
