#pragma once

#include <array>
#include <cstdint>
#include <string>

#include "capture/frame.h"

namespace lull::capture {

/// Looks at frames of one plane for the pattern that colour filters leave: four pixels of a block
/// of 2 x 2 that see the same scene in different light. Pixels on one diagonal are green and alike,
/// those on the other red and blue; which of the two is red, samples alone cannot tell.
class MosaicEvidence {
 public:
  /// Adds bright pixels of a frame of one plane, at most about 200,000.
  void add(const Frame& frame);

  /// What speaks against the mosaic that the file or the user names, in words for the user; empty
  /// when nothing does. @param cfa  Cfa::none: said to be no mosaic.
  [[nodiscard]] std::string doubt(Cfa cfa) const;

 private:
  /// Differences between pixels and their neighbours, relative to the light around.
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

  /// A mean difference, and whether it stands out from its own scatter.
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
