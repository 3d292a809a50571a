#pragma once

#include <cstddef>
#include <functional>
#include <vector>

#include "spectrum/ratio_ring.h"
#include "spectrum/ring_sums.h"

namespace lull::stack {

/// Expected errors of a finished picture, as shares of its detail: roots of mean squares.
struct ExpectedError {
  double noise = 0;  ///< detail that is lost in noise, or noise that is left
  double blur = 0;   ///< from blur that is not undone exactly

  [[nodiscard]] double total() const;
};

/// Chooses among nested stacks of the best frames by what a Wiener filter will make of each. More
/// frames have less noise, and worse ones add blur. Blur is undone, but not exactly: its estimate
/// errs, and it differs by direction and place. So the logarithm of the transfer t is known within
/// a share of itself. With the power O of the scene and the squared correlation with the scene
/// W = 2 F / (1 + F), F between the halves, the expected error of a ring of frequencies is
///     O (1 - W)  +  O W^2 (0.1 ln t)^2,
/// from noise and from blur. The blur of the first stack is given. That of the others follows from
/// their power over its power, both without noise: what the halves share.
class KeepChoice {
 public:
  using Transfer = std::function<double(double)>;

  /// @param first  transfer of the first stack by frequency, cycles/px; positive.
  /// @param pieces  so many stacks like these will be averaged, of which these are one: F becomes
  /// n F / (1 + (n - 1) F) (Spearman 1910; Brown 1910, from memory).
  explicit KeepChoice(Transfer first, double pieces = 1);

  /// A stack of more frames than the one before.
  /// @param halves  of the half stacks, of one area; the same rings for all.
  void add(std::vector<spectrum::RingSums> halves);

  /// Of all stacks, in order, against the scene that the last one shows, up to its resolution.
  [[nodiscard]] const std::vector<ExpectedError>& errors() const { return errors_; }

  /// Was the last stack better than the best before it? Where no detail is seen it is.
  [[nodiscard]] bool last_is_best() const { return best_ + 1 == stacks_.size(); }

  /// Have two in a row been worse than the best? More frames will not help.
  [[nodiscard]] bool settled() const;

 private:
  [[nodiscard]] std::vector<double> transfer_of(std::size_t stack) const;
  [[nodiscard]] std::vector<ExpectedError> expected_errors() const;

  Transfer first_;
  double pieces_;
  std::vector<std::vector<spectrum::RingSums>> stacks_;
  std::vector<ExpectedError> errors_;
  std::size_t best_ = 0;
};

/// The transfer of a stack by its power over that of its frames (stack/frame_comparison.h).
/// @param resolution  of the stack, cycles/px; positive.
using TransferEstimate = std::function<KeepChoice::Transfer(
    const std::vector<spectrum::RatioRing>& rings, double resolution)>;

}  // namespace lull::stack
