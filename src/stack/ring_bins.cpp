#include "stack/ring_bins.h"

#include <algorithm>
#include <cmath>

#include "spectrum/fft.h"

namespace lull::stack {

RingBins::RingBins(Size plane, std::size_t rings) : rings_(rings) {
  const spectrum::Spectrum bins(plane);
  const auto count =
      static_cast<std::size_t>(bins.rows()) * static_cast<std::size_t>(bins.columns());
  ring_of_.reserve(count);
  multiplicity_.reserve(count);
  for (int r = 0; r < bins.rows(); ++r) {
    for (int c = 0; c < bins.columns(); ++c) {
      const double f = std::hypot(bins.frequency_x(c), bins.frequency_y(r));
      const auto ring = static_cast<std::size_t>(2 * f * static_cast<double>(rings));
      ring_of_.push_back(static_cast<std::uint16_t>(std::min(ring, rings)));
      multiplicity_.push_back(static_cast<float>(bins.multiplicity(c)));
    }
  }
}

void RingBins::add(const std::vector<float>& by_bin, double factor, double* sums) const {
  for (std::size_t i = 0; i < ring_of_.size(); ++i) {
    if (ring_of_[i] < rings_)
      sums[ring_of_[i]] += factor * static_cast<double>(multiplicity_[i] * by_bin[i]);
  }
}

}  // namespace lull::stack
