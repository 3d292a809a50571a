#pragma once

#include <array>
#include <cstdint>
#include <string>

#include "capture/frame.h"

namespace lull::capture {

/// Compares a stated CFA pattern with the samples of frames of one plane. The four pixels of a
/// block of 2 x 2 see the same scene through different filters. Pixels on one diagonal are green
/// and equal, those on the other are red and blue. Samples alone do not show which of the two is
/// red.
class CfaCheck {
 public:
  /// Adds bright pixels of a frame of one plane, at most about 200,000.
  void add(const Frame& frame);

  /// A warning for the user when the samples contradict the stated pattern, else empty.
  /// @param cfa  stated by the file or the user; Cfa::none: no mosaic.
  [[nodiscard]] std::string warning(Cfa cfa) const;

 private:
  /// Differences between pixels and their neighbours, relative to the level around.
  struct Sum {
    double sum = 0;
    double squares = 0;
    std::int64_t count = 0;

    void add(double value) {
      sum += value;
      squares += value * value;
      ++count;
    }
  };

  /// A mean difference, and whether it is significant against its own scatter.
  struct Difference {
    double value = 0;
    bool certain = false;

    [[nodiscard]] bool stands_out() const;
    [[nodiscard]] bool is_nothing() const;
  };

  template <class T>
  void add_samples(const SampleView& samples);
  [[nodiscard]] static Difference between(const Sum& one, const Sum& other);

  std::array<Sum, 4> across_;  ///< by place in the block: against the diagonal neighbours
  std::array<Sum, 4> beside_;  ///< against the four nearest neighbours
};

}  // namespace lull::capture
