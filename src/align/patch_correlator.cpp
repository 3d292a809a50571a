#include "align/patch_correlator.h"

#include <algorithm>
#include <cmath>

namespace lull::align {

namespace {

constexpr double kTaperShare = 0.25;
constexpr double kChanceSigmas = 1.0;

}  // namespace

PatchCorrelator::PatchCorrelator(Size size)
    : size_(size),
      fft_(size),
      across_(spectrum::tukey_window(size.width_px, kTaperShare)),
      down_(spectrum::tukey_window(size.height_px, kTaperShare)),
      window_(size),
      correlation_(size) {
  const int rings = std::max(4, std::min(size.width_px, size.height_px) / 4);
  bins_.resize(static_cast<std::size_t>(rings) + 1);
  power_.resize(bins_.size());
  weight_.resize(bins_.size());
  const spectrum::Spectrum shape(size);
  for (int r = 0; r < shape.rows(); ++r) {
    for (int c = 0; c < shape.columns(); ++c) {
      const double f = std::hypot(shape.frequency_y(r), shape.frequency_x(c));
      const int ring = std::min(static_cast<int>(2 * f * rings), rings);
      ring_.push_back(ring);
      bins_[static_cast<std::size_t>(ring)] += shape.multiplicity(c);
    }
  }
}

void PatchCorrelator::transform(PlaneView patch, spectrum::Spectrum& out) {
  LULL_ASSERT(patch.size() == size_);
  double sum = 0;
  for (int y = 0; y < patch.height_px; ++y) {
    float row_sum = 0;
    for (int x = 0; x < patch.width_px; ++x) row_sum += patch.row(y)[x];
    sum += static_cast<double>(row_sum);
  }
  const auto mean = static_cast<float>(sum / static_cast<double>(size_.area_px()));
  for (int y = 0; y < patch.height_px; ++y) {
    const float* in = patch.row(y);
    float* to = window_.row(y);
    const float down = down_[static_cast<std::size_t>(y)];
    for (int x = 0; x < patch.width_px; ++x) {
      to[x] = (in[x] - mean) * down * across_[static_cast<std::size_t>(x)];
    }
  }
  fft_.forward(window_.view(), out);
}

void PatchCorrelator::measure_rings(const spectrum::Spectrum& a, const spectrum::Spectrum& b) {
  std::fill(power_.begin(), power_.end(), 0.0);
  const int* ring = ring_.data();
  for (int r = 0; r < a.rows(); ++r) {
    for (int c = 0; c < a.columns(); ++c, ++ring) {
      power_[static_cast<std::size_t>(*ring)] +=
          a.multiplicity(c) * 0.5 *
          static_cast<double>(std::norm(a.row(r)[c]) + std::norm(b.row(r)[c]));
    }
  }
  for (std::size_t i = 0; i < power_.size(); ++i) power_[i] /= std::max(bins_[i], 1.0);
  // The weakest ring gives the noise: an optical image has the least power near the corner.
  const double noise = std::max(*std::min_element(power_.begin(), power_.end()), 1e-30);
  for (std::size_t i = 0; i < power_.size(); ++i) {
    // What noise alone reaches by chance is no signal. Signal and noise are of both patches; the
    // last term limits the weight where the noise is too small to matter.
    const double chance = 1 + kChanceSigmas / std::sqrt(std::max(bins_[i], 1.0));
    const double s = std::max(power_[i] - chance * noise, 0.0);
    weight_[i] = static_cast<float>(s / (noise * (2 * s + noise) + 1e-3 * s * s + 1e-300));
  }
}

spectrum::CorrelationPeak PatchCorrelator::correlate(const spectrum::Spectrum& reference,
                                                     spectrum::Spectrum& frame, int reach_x,
                                                     int reach_y) {
  measure_rings(reference, frame);
  const float highest = std::max(*std::max_element(weight_.begin(), weight_.end()), 1e-37F);
  const int* ring = ring_.data();
  for (int r = 0; r < frame.rows(); ++r) {
    for (int c = 0; c < frame.columns(); ++c, ++ring) {
      frame.row(r)[c] *=
          std::conj(reference.row(r)[c]) * (weight_[static_cast<std::size_t>(*ring)] / highest);
    }
  }
  fft_.inverse(frame, correlation_.view());
  return spectrum::find_peak(correlation_.view(), reach_x, reach_y);
}

}  // namespace lull::align
