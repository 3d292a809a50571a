#include "stack/frequency_fusion.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "core/parallel.h"
#include "spectrum/patch_grid.h"
#include "stack/placed_row.h"

namespace lull::stack {

namespace {

constexpr int kSide = 96;
constexpr double kNeighbourBins = 2.5;  // standard deviation of the mean over neighbours
constexpr int kLeftOutBins = 1;         // on either side of the frequency itself
constexpr float kWeightPower = 0.7F;
constexpr float kLeastCover = 0.75F;  // of a patch by the frame
constexpr float kLeastOverlap = 0.1F;
constexpr int kRingsSmoothed = 2;  // on either side
constexpr double kLeastMean = 0.05;
constexpr float kMostShare = 0.5F;    // of one frame in the reference
constexpr double kLeastShared = 0.1;  // of the power of a ring, between the halves
constexpr float kTiny = 1e-20F;

int side_for(int length) { return length <= kSide ? spectrum::fast_length_below(length) : kSide; }

std::vector<float> sine_window(int length) {
  std::vector<float> window = spectrum::tukey_window(length, 1);
  for (float& w : window) w = std::sqrt(w);
  return window;
}

// Sum over bins |a| <= reach of the Gaussian, at every lag.
std::vector<double> lag_taps(int length, int reach) {
  std::vector<double> out(static_cast<std::size_t>(length));
  for (int x = 0; x < length; ++x) {
    double sum = 0;
    for (int a = -reach; a <= reach; ++a) {
      sum += std::exp(-0.5 * a * a / (kNeighbourBins * kNeighbourBins)) *
             std::cos(2 * std::numbers::pi * a * x / length);
    }
    out[static_cast<std::size_t>(x)] = sum;
  }
  return out;
}

// A mean over neighbouring frequencies is a product in the lag domain.
std::vector<float> lag_window(Size side) {
  const int reach = static_cast<int>(std::ceil(3 * kNeighbourBins));
  const auto whole_x = lag_taps(side.width_px, reach);
  const auto whole_y = lag_taps(side.height_px, reach);
  const auto out_x = lag_taps(side.width_px, kLeftOutBins);
  const auto out_y = lag_taps(side.height_px, kLeftOutBins);
  const double total = whole_x[0] * whole_y[0] - out_x[0] * out_y[0];
  std::vector<float> window;
  for (std::size_t y = 0; y < whole_y.size(); ++y) {
    for (std::size_t x = 0; x < whole_x.size(); ++x) {
      window.push_back(static_cast<float>((whole_x[x] * whole_y[y] - out_x[x] * out_y[y]) / total));
    }
  }
  return window;
}

// A frame on the grid of the reference; where it does not reach, the reference.
Plane warped(const Contribution& part, PlaneView reference) {
  Plane out(reference.size());
  const PictureGrid grid(reference.size(), 1);
  const align::PaddedFrame& frame = *part.channels[0].plane;
  PlacedRow row;
  const auto gain = static_cast<float>(part.gain);
  for (int y = 0; y < reference.height_px; ++y) {
    row.place(grid, *part.field, {}, y);
    row.weigh_equally(frame.size());
    const float* samples = row.sampled(frame);
    const float* inside = row.weight();
    const float* other = reference.row(y);
    float* to = out.row(y);
    for (int x = 0; x < reference.width_px; ++x) {
      to[x] = other[x] + inside[x] * (gain * samples[x] - other[x]);
    }
  }
  return out;
}

// Share of [start, start + side) that lies in [0, length).
float cover(double start, int side, int length) {
  const double from = std::max(start, 0.0);
  const double to = std::min(start + side, static_cast<double>(length));
  return static_cast<float>(std::clamp((to - from) / side, 0.0, 1.0));
}

// Adds up over the rings beside each.
template <class Sum>
auto around(std::size_t ring, std::size_t rings, const Sum& sum) {
  const std::size_t first = ring > kRingsSmoothed ? ring - kRingsSmoothed : 0;
  const std::size_t last = std::min(ring + kRingsSmoothed, rings - 1);
  double total = 0;
  for (std::size_t k = first; k <= last; ++k) total += sum(k);
  return total;
}

}  // namespace

struct FrequencyFusion::Workspace {
  explicit Workspace(Size side) : fft(side), plane(side), frame(side), transfer(side) {}

  spectrum::Fft fft;
  Plane plane;
  spectrum::Spectrum frame;
  spectrum::Spectrum transfer;  ///< H
};

std::size_t FrequencyFusion::bytes(Size size) {
  const Size side = {side_for(size.width_px), side_for(size.height_px)};
  const std::size_t patches = spectrum::patch_starts(0, size.width_px, side.width_px).size() *
                              spectrum::patch_starts(0, size.height_px, side.height_px).size();
  const auto bins =
      static_cast<std::size_t>(side.height_px) * static_cast<std::size_t>(side.width_px / 2 + 1);
  constexpr std::size_t kPerBin = 8 + 4 + 2 * (8 + 4);
  return patches * bins * kPerBin;
}

bool FrequencyFusion::fits(Size size) {
  return std::min(size.width_px, size.height_px) >= kLeastSide && bytes(size) <= kMostBytes;
}

FrequencyFusion::FrequencyFusion(PlaneView reference,
                                 const std::vector<std::vector<float>>& weights)
    : size_(reference.size()),
      reference_(Plane::copy_of(reference)),
      shape_(size_),
      side_{side_for(size_.width_px), side_for(size_.height_px)},
      across_(sine_window(side_.width_px)),
      down_(sine_window(side_.height_px)),
      lag_(lag_window(side_)) {
  const spectrum::Spectrum bins(side_);
  const int longest = std::max(side_.width_px, side_.height_px);
  const auto rings = static_cast<std::size_t>(longest / 2 + 1);
  for (int r = 0; r < bins.rows(); ++r) {
    for (int c = 0; c < bins.columns(); ++c) {
      const double f = std::hypot(bins.frequency_x(c), bins.frequency_y(r));
      ring_.push_back(static_cast<std::uint16_t>(std::min(std::lround(f * longest), longest / 2L)));
      multiplicity_.push_back(static_cast<float>(bins.multiplicity(c)));
    }
  }
  for (const int y : spectrum::patch_starts(0, size_.height_px, side_.height_px)) {
    for (const int x : spectrum::patch_starts(0, size_.width_px, side_.width_px)) {
      Patch patch;
      patch.x = x;
      patch.y = y;
      patches_.push_back(std::move(patch));
    }
  }
  parallel_for(static_cast<std::int64_t>(patches_.size()), [&](std::int64_t p) {
    Patch& patch = patches_[static_cast<std::size_t>(p)];
    Workspace work(side_);
    transform(reference_.view(), patch, work, patch.reference);
    const std::complex<float>* s = patch.reference.row(0);
    std::complex<float>* power = work.transfer.row(0);
    for (std::size_t i = 0; i < ring_.size(); ++i) power[i] = std::norm(s[i]);
    spread(work.transfer, work);
    for (std::size_t i = 0; i < ring_.size(); ++i)
      patch.power.push_back(std::max(power[i].real(), 0.0F));
    patch.evidence.resize(rings);
    for (const auto& frame : weights) patch.reference_weight += weight_in(patch, frame);
  });
}

// Spectrum of a plane's patch.
void FrequencyFusion::transform(PlaneView from, const Patch& patch, Workspace& work,
                                spectrum::Spectrum& out) const {
  const Box box{patch.x, patch.y, patch.x + side_.width_px, patch.y + side_.height_px};
  spectrum::windowed_spectrum(from.crop(box), across_, down_, work.fft, work.plane, out);
}

// The mean over neighbouring frequencies, in place.
void FrequencyFusion::spread(spectrum::Spectrum& spectrum, Workspace& work) const {
  work.fft.inverse(spectrum, work.plane.view());
  for (int y = 0; y < side_.height_px; ++y) {
    float* row = work.plane.row(y);
    const float* lag = lag_.data() + static_cast<std::ptrdiff_t>(y) * side_.width_px;
    for (int x = 0; x < side_.width_px; ++x) row[x] *= lag[x];
  }
  work.fft.forward(std::as_const(work.plane).view(), spectrum);
}

// How much of the patch the frame covers; 0 where it is too little.
float FrequencyFusion::cover_of(const Patch& patch, const Contribution& part) const {
  const FrameOffset offset =
      part.field->at(patch.x + 0.5 * side_.width_px, patch.y + 0.5 * side_.height_px);
  const Size frame = part.channels[0].plane->size();
  const float covered = cover(patch.x + offset.x_px, side_.width_px, frame.width_px) *
                        cover(patch.y + offset.y_px, side_.height_px, frame.height_px);
  return covered < kLeastCover ? 0 : covered;
}

// Mean under the window of weights on nodes.
float FrequencyFusion::weight_in(const Patch& patch, const std::vector<float>& weights) const {
  constexpr int kNode = align::ShiftField::kNodePx;
  float sum = 0;
  float windows = 0;
  for (int r = patch.y / kNode; r < shape_.rows(); ++r) {
    const int j = r * kNode + kNode / 2 - patch.y;
    if (j >= side_.height_px) break;
    if (j < 0) continue;
    for (int c = patch.x / kNode; c < shape_.columns(); ++c) {
      const int i = c * kNode + kNode / 2 - patch.x;
      if (i >= side_.width_px) break;
      if (i < 0) continue;
      const float window =
          across_[static_cast<std::size_t>(i)] * down_[static_cast<std::size_t>(j)];
      sum += window * weights[static_cast<std::size_t>(r * shape_.columns() + c)];
      windows += window;
    }
  }
  return windows > 0 ? sum / windows : 0;
}

// H of the frame in the workspace, without its own share of the reference.
void FrequencyFusion::find_transfer(const Patch& patch, float share, Workspace& work) const {
  const std::complex<float>* f = work.frame.row(0);
  const std::complex<float>* s = patch.reference.row(0);
  std::complex<float>* h = work.transfer.row(0);
  const float rest = 1 / (1 - share);
  for (std::size_t i = 0; i < ring_.size(); ++i)
    h[i] = f[i] * std::conj(rest * (s[i] - share * f[i]));
  spread(work.transfer, work);
  for (std::size_t i = 0; i < ring_.size(); ++i) h[i] /= patch.power[i] + kTiny;
}

// Calls body(patch, workspace with F and H, weight, half) for every frame in every patch.
template <class Body>
void FrequencyFusion::for_patches(const std::vector<Contribution>& batch, std::size_t of_reference,
                                  const Body& body) {
  std::vector<Plane> frames(batch.size());
  parallel_for(static_cast<std::int64_t>(batch.size()), [&](std::int64_t i) {
    frames[static_cast<std::size_t>(i)] =
        warped(batch[static_cast<std::size_t>(i)], reference_.view());
  });
  parallel_for(static_cast<std::int64_t>(patches_.size()), [&](std::int64_t p) {
    Patch& patch = patches_[static_cast<std::size_t>(p)];
    Workspace work(side_);
    for (std::size_t n = 0; n < batch.size(); ++n) {
      const float covered = cover_of(patch, batch[n]);
      const float sharpness = weight_in(patch, *batch[n].weights);
      if (!(covered > 0 && sharpness > 0)) continue;
      transform(frames[n].view(), patch, work, work.frame);
      const float share = n < of_reference && patch.reference_weight > 0
                              ? std::min(sharpness / patch.reference_weight, kMostShare)
                              : 0.0F;
      find_transfer(patch, share, work);
      const float weight = covered * std::pow(sharpness, kWeightPower);
      body(patch, work, weight, batch[n].half);
    }
  });
}

void FrequencyFusion::add_evidence(Patch& patch, const Workspace& work, float weight) const {
  const std::complex<float>* f = work.frame.row(0);
  const std::complex<float>* s = patch.reference.row(0);
  const std::complex<float>* h = work.transfer.row(0);
  for (std::size_t i = 0; i < ring_.size(); ++i) {
    Evidence& sums = patch.evidence[ring_[i]];
    const float q = weight * multiplicity_[i];
    const float power = std::norm(s[i]);
    const std::complex<float> cross = f[i] * std::conj(s[i]);
    sums.predicted += static_cast<double>(q * (cross * std::conj(h[i])).real());
    sums.matched += static_cast<double>(q * cross.real());
    sums.common += static_cast<double>(q * h[i].real() * power);
    sums.reference += static_cast<double>(q * power);
    sums.power += static_cast<double>(q * std::norm(h[i]) * power);
  }
}

void FrequencyFusion::learn(const std::vector<Contribution>& batch) {
  for_patches(batch, batch.size(), [this](Patch& patch, const Workspace& work, float weight, Half) {
    add_evidence(patch, work, weight);
  });
}

void FrequencyFusion::set_trust() {
  for (Patch& patch : patches_) {
    const std::size_t rings = patch.evidence.size();
    patch.trust.assign(rings, Trust{});
    for (std::size_t k = 0; k < rings; ++k) {
      const auto sum = [&](double Evidence::*what) {
        return around(k, rings, [&](std::size_t i) { return patch.evidence[i].*what; });
      };
      const double reference = sum(&Evidence::reference);
      if (!(reference > 0)) continue;
      const double common = sum(&Evidence::common);
      const double mean = std::clamp(common / reference, kLeastMean, 1.0);
      const double predicted = sum(&Evidence::predicted) - mean * sum(&Evidence::matched) -
                               mean * common + mean * mean * reference;
      const double power = sum(&Evidence::power) - 2 * mean * common + mean * mean * reference;
      patch.trust[k] = {
          static_cast<float>(mean),
          power > 0 ? static_cast<float>(std::clamp(predicted / power, 0.0, 1.0)) : 0};
    }
    for (Sums& half : patch.halves) {
      half.light.assign(ring_.size(), {});
      half.power.assign(ring_.size(), 0.0F);
    }
    patch.evidence = {};
  }
}

void FrequencyFusion::add_light(Patch& patch, const Workspace& work, float weight,
                                Half half) const {
  const std::complex<float>* f = work.frame.row(0);
  const std::complex<float>* h = work.transfer.row(0);
  Sums& sums = patch.halves[static_cast<std::size_t>(half)];
  for (std::size_t i = 0; i < ring_.size(); ++i) {
    const Trust& trust = patch.trust[ring_[i]];
    const std::complex<float> transfer = trust.mean + trust.share * (h[i] - trust.mean);
    sums.light[i] += weight * trust.mean * std::conj(transfer) * f[i];
    sums.power[i] += weight * std::norm(transfer);
  }
}

void FrequencyFusion::add(const std::vector<Contribution>& batch, std::size_t of_reference) {
  for_patches(batch, of_reference,
              [this](Patch& patch, const Workspace& work, float weight, Half half) {
                add_light(patch, work, weight, half);
              });
}

void FrequencyFusion::set_level(PlaneView first_half, PlaneView second_half) {
  // Each half of one stack against the other half of the other, so that noise does not count.
  struct Powers {
    double cross = 0;
    double own = 0;
    double whole = 0;
  };

  std::vector<std::vector<Powers>> found(patches_.size());
  const std::size_t rings =
      static_cast<std::size_t>(*std::max_element(ring_.begin(), ring_.end())) + 1;
  parallel_for(static_cast<std::int64_t>(patches_.size()), [&](std::int64_t p) {
    const Patch& patch = patches_[static_cast<std::size_t>(p)];
    std::vector<Powers>& sums = found[static_cast<std::size_t>(p)];
    sums.resize(rings);
    Workspace work(side_);
    for (int half = 0; half < 2; ++half) {
      transform(half == 0 ? first_half : second_half, patch, work, work.frame);
      const std::complex<float>* c = work.frame.row(0);
      const Sums& same = patch.halves[half];
      const Sums& other = patch.halves[1 - half];
      for (std::size_t i = 0; i < ring_.size(); ++i) {
        if (!(same.power[i] > 0 && other.power[i] > 0)) continue;
        const std::complex<float> f = other.light[i] / other.power[i];
        Powers& sum = sums[ring_[i]];
        sum.cross += static_cast<double>(multiplicity_[i] * (c[i] * std::conj(f)).real());
        sum.own += static_cast<double>(multiplicity_[i] *
                                       (f * std::conj(same.light[i] / same.power[i])).real());
        sum.whole += static_cast<double>(multiplicity_[i] * std::norm(f));
      }
    }
  });
  level_.assign(rings, 1.0F);
  for (std::size_t k = 0; k < rings; ++k) {
    const auto sum = [&](double Powers::*what) {
      return around(k, rings, [&](std::size_t ring) {
        double total = 0;
        for (const auto& patch : found) total += patch[ring].*what;
        return total;
      });
    };
    const double own = sum(&Powers::own);
    if (own > kLeastShared * sum(&Powers::whole))
      level_[k] = static_cast<float>(std::clamp(sum(&Powers::cross) / own, 0.5, 2.0));
  }
}

Plane FrequencyFusion::corrected(PlaneView stack) const { return corrected(stack, true, true); }

Plane FrequencyFusion::half_corrected(PlaneView half_stack, Half half) const {
  return corrected(half_stack, half == Half::first, half == Half::second);
}

Plane FrequencyFusion::corrected(PlaneView stack, bool first, bool second) const {
  std::vector<Plane> corrections(patches_.size());
  parallel_for(static_cast<std::int64_t>(patches_.size()), [&](std::int64_t p) {
    const Patch& patch = patches_[static_cast<std::size_t>(p)];
    Workspace work(side_);
    transform(stack, patch, work, work.frame);
    std::complex<float>* bins = work.frame.row(0);
    for (std::size_t i = 0; i < ring_.size(); ++i) {
      std::complex<float> light = 0;
      float power = 0;
      for (int half = 0; half < 2; ++half) {
        if (!(half == 0 ? first : second)) continue;
        light += patch.halves[half].light[i];
        power += patch.halves[half].power[i];
      }
      bins[i] = power > 0 ? level_[ring_[i]] * light / power - bins[i] : 0;
    }
    work.fft.inverse(work.frame, work.plane.view());
    corrections[static_cast<std::size_t>(p)] = std::move(work.plane);
  });
  Plane sum(size_);
  Plane overlap(size_);
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    for (int j = 0; j < side_.height_px; ++j) {
      const float* from = corrections[p].row(j);
      float* to = sum.row(patches_[p].y + j) + patches_[p].x;
      float* weights = overlap.row(patches_[p].y + j) + patches_[p].x;
      for (int i = 0; i < side_.width_px; ++i) {
        const float window =
            across_[static_cast<std::size_t>(i)] * down_[static_cast<std::size_t>(j)];
        to[i] += window * from[i];
        weights[i] += window * window;
      }
    }
  }
  Plane out = Plane::copy_of(stack);
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x)
      out.row(y)[x] += sum.row(y)[x] / std::max(overlap.row(y)[x], kLeastOverlap);
  }
  return out;
}

}  // namespace lull::stack
