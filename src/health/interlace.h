#pragma once

#include <optional>
#include <vector>

#include "align/find_shift.h"
#include "capture/capture.h"
#include "capture/frame.h"

namespace lull::health {

/// How far odd rows lie across from even ones.
struct Interlace {
  double shift_px = 0;   ///< median over frames
  double chance_px = 0;  ///< the same between rows of one parity: what noise does
};

/// Whether odd rows show another moment than even rows, as in interlaced video: the object has then
/// moved between them. Even and odd rows of a tile around the object are pictures of their own,
/// whose shift across is measured; so is that between every other even row and the rest of them.
class FieldShifts {
 public:
  explicit FieldShifts(const capture::CaptureInfo& info);

  /// A few of these frames, of a capture some dozen. Mosaics are left out: their rows have colours.
  /// @param centres  of the object, px.
  void add(const std::vector<const capture::Frame*>& frames,
           const std::vector<Displacement>& centres);

  /// None: fewer than 4 frames whose rows have detail in common.
  [[nodiscard]] std::optional<Interlace> result() const;

 private:
  /// Shift across between rows `first` and `second` of each `step`.
  [[nodiscard]] std::optional<double> across(const capture::Frame& frame, Place corner, int first,
                                             int second, int step) const;

  const capture::CaptureInfo& info_;
  Size tile_;
  std::vector<double> shifts_px_;
  std::vector<double> chances_px_;
};

/// Are these rows of two moments?
[[nodiscard]] bool is_interlaced(const Interlace& found);

}  // namespace lull::health
