#include "stack/spectral_ratio.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <utility>

#include "core/parallel.h"
#include "spectrum/patch_grid.h"
#include "spectrum/sampling.h"

namespace lull::stack {

namespace {

constexpr int kPatchSide = 128;
constexpr std::size_t kRings = 32;  // from 0 to 0.5 cycles/px
constexpr std::size_t kNoiseRings = 3;
constexpr double kMostCorrection = 4;
constexpr std::size_t kMostBytes = 32U << 20U;  // of spectra at once
constexpr int kRounds = 2;                      // of moving a patch
constexpr double kRim = 0.125;                  // of a patch
constexpr double kTiltShare = 0.13;             // of the resolution: 0.12 of the cutoff
// Of a mosaic's luminance: half way to where the mosaic carries its colours (Alleysson, Suesstrunk
// & Herault 2005, IEEE Trans. Image Processing 14, 439). Beyond, frames show colour, not detail.
constexpr double kFinestOfMosaic = 0.25;

// Of a ring, cycles/px.
double middle_of(std::size_t ring) {
  return 0.5 * (static_cast<double>(ring) + 0.5) / static_cast<double>(kRings);
}

std::size_t bins_of(Size side) {
  return static_cast<std::size_t>(side.height_px) * static_cast<std::size_t>(side.width_px / 2 + 1);
}

int side_for(int length) {
  return length <= kPatchSide ? spectrum::fast_length_below(length) : kPatchSide;
}

}  // namespace

SpectralRatio::SpectralRatio(Box area, capture::Colour colour, PlaneView reference,
                             double resolution)
    : side_{side_for(area.width_px()), side_for(area.height_px())},
      rings_(kRings),
      across_(spectrum::tukey_window(side_.width_px, 1)),
      down_(spectrum::tukey_window(side_.height_px, 1)),
      smoothed_(colour == capture::Colour::cfa),
      noise_shape_(noise_shape(colour)) {
  for (const int y : spectrum::patch_starts(area.y0, area.y1, side_.height_px)) {
    for (const int x : spectrum::patch_starts(area.x0, area.x1, side_.width_px))
      patches_.push_back({x, y});
  }
  frames_.resize(patches_.size() * rings_);
  noise_.resize(patches_.size() * rings_);
  weights_.resize(patches_.size());
  tilt_frequency_ = kTiltShare * resolution;
  spectrum::Fft fft(side_);
  for (const Place& place : patches_) {
    reference_.push_back(spectrum::windowed_spectrum(cut(reference, place.x, place.y, 1).view(),
                                                     across_, down_, fft));
  }
  const std::size_t bins = patches_.size() * bins_of(side_);
  for (auto& sums : light_) sums.resize(bins);
  for (auto& sums : light_weights_) sums.resize(patches_.size());
}

Plane SpectralRatio::cut(PlaneView from, int x, int y, float factor) const {
  Plane out(side_);
  for (int j = 0; j < side_.height_px; ++j) {
    const float* row = from.row(std::clamp(y + j, 0, from.height_px - 1));
    for (int i = 0; i < side_.width_px; ++i)
      out.row(j)[i] = factor * row[std::clamp(x + i, 0, from.width_px - 1)];
  }
  return out;
}

void SpectralRatio::add_power(const spectrum::Spectrum& spectrum, double factor,
                              double* rings) const {
  for (int r = 0; r < spectrum.rows(); ++r) {
    for (int c = 0; c < spectrum.columns(); ++c) {
      const double f = std::hypot(spectrum.frequency_x(c), spectrum.frequency_y(r));
      const auto ring = static_cast<std::size_t>(2 * f * static_cast<double>(rings_));
      if (ring < rings_) {
        rings[ring] +=
            factor * spectrum.multiplicity(c) * std::norm(std::complex<double>(spectrum.row(r)[c]));
      }
    }
  }
}

// Power of white noise of variance 1 on the rings, as the luminance passes it on.
std::vector<double> SpectralRatio::noise_shape(capture::Colour colour) const {
  const bool smoothed = colour == capture::Colour::cfa;
  const spectrum::Spectrum bins(side_);
  std::vector<double> rings(rings_);
  for (int r = 0; r < bins.rows(); ++r) {
    for (int c = 0; c < bins.columns(); ++c) {
      const double fx = bins.frequency_x(c);
      const double fy = bins.frequency_y(r);
      const auto ring =
          static_cast<std::size_t>(2 * std::hypot(fx, fy) * static_cast<double>(rings_));
      if (ring >= rings_) continue;
      const double kept =
          smoothed ? spectrum::smoothing_power(fx) * spectrum::smoothing_power(fy) : 1;
      rings[ring] += kept * bins.multiplicity(c);
    }
  }
  return rings;
}

// Light under the square of the window, which is where the variance of photons comes from.
double SpectralRatio::light_in(const Plane& patch) const {
  double sum = 0;
  for (int y = 0; y < patch.height(); ++y) {
    for (int x = 0; x < patch.width(); ++x) {
      const double w = static_cast<double>(across_[static_cast<std::size_t>(x)] *
                                           down_[static_cast<std::size_t>(y)]);
      sum += w * w * static_cast<double>(std::max(patch.row(y)[x], 0.0F));
    }
  }
  return sum;
}

// The finest rings hold noise, except for the detail that the stack shows there: pixels that are
// coarse for the optics have detail even at these frequencies. The finest rings of a smoothed
// mosaic are empty and are not used.
double SpectralRatio::noise_correction(const Powers& kept) const {
  if (smoothed_) return 1;
  double power = 0;
  double noise = 0;
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    for (std::size_t k = rings_ - kNoiseRings; k < rings_; ++k) {
      power += frames_[p * rings_ + k] - weights_[p] * kept[p * rings_ + k];
      noise += noise_[p * rings_ + k];
    }
  }
  return noise > 0 ? std::clamp(power / noise, 1 / kMostCorrection, kMostCorrection) : 1;
}

// How far the patch of a frame is from that of the reference, by the phases of coarse detail.
Displacement SpectralRatio::tilt_of(const spectrum::Spectrum& patch,
                                    const spectrum::Spectrum& reference) const {
  double xx = 0;
  double xy = 0;
  double yy = 0;
  double x = 0;
  double y = 0;
  for (int r = 0; r < patch.rows(); ++r) {
    for (int c = 0; c < patch.columns(); ++c) {
      const double fx = patch.frequency_x(c);
      const double fy = patch.frequency_y(r);
      if (std::hypot(fx, fy) > tilt_frequency_) continue;
      const std::complex<double> cross(patch.row(r)[c] * std::conj(reference.row(r)[c]));
      const double weight = std::abs(cross) * patch.multiplicity(c);
      const double phase = -std::arg(cross) / (2 * std::numbers::pi);
      xx += weight * fx * fx;
      xy += weight * fx * fy;
      yy += weight * fy * fy;
      x += weight * fx * phase;
      y += weight * fy * phase;
    }
  }
  const double area = xx * yy - xy * xy;
  if (!(area > 0)) return {};
  return {(yy * x - xy * y) / area, (xx * y - xy * x) / area};
}

// But for a rim that the window nearly hides.
bool SpectralRatio::inside(PlaneView frame, const Place& patch, const FrameOffset& offset) const {
  const double x = patch.x + offset.x_px;
  const double y = patch.y + offset.y_px;
  const double rim_x = kRim * side_.width_px;
  const double rim_y = kRim * side_.height_px;
  return x > -rim_x && y > -rim_y && x + side_.width_px < frame.width_px + rim_x &&
         y + side_.height_px < frame.height_px + rim_y;
}

SpectralRatio::Share SpectralRatio::share_of(const Part& part) const {
  Share share{Powers(frames_.size()), Powers(frames_.size()),
              std::vector<std::complex<float>>(patches_.size() * bins_of(side_)),
              std::vector<double>(patches_.size())};
  std::vector<float> row(part.field->row_size());
  spectrum::Fft fft(side_);
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    const double x = patches_[p].x + 0.5 * side_.width_px;
    const double y = patches_[p].y + 0.5 * side_.height_px;
    part.field->expand(*part.weights, static_cast<int>(y), row.data());
    const auto weight = static_cast<double>(row[static_cast<std::size_t>(x)]);
    // Whole pixels: interpolation would mute the frame, and it is part of what the stack loses.
    FrameOffset offset = part.field->at(x, y);
    Plane patch;
    spectrum::Spectrum bins;
    Displacement rest;
    for (int round = 0; round < kRounds; ++round) {
      const Place at{static_cast<int>(std::lround(offset.x_px)),
                     static_cast<int>(std::lround(offset.y_px))};
      patch = cut(part.frame, patches_[p].x + at.x, patches_[p].y + at.y,
                  static_cast<float>(part.gain));
      bins = spectrum::windowed_spectrum(patch.view(), across_, down_, fft);
      rest = tilt_of(bins, reference_[p]);
      offset = {at.x + rest.x_px, at.y + rest.y_px};
    }
    if (!inside(part.frame, patches_[p], offset)) continue;
    add_power(bins, weight, share.power.data() + p * rings_);
    std::complex<float>* light = share.light.data() + p * bins_of(side_);
    for (int r = 0; r < bins.rows(); ++r) {
      for (int c = 0; c < bins.columns(); ++c) {
        const double turn = 2 * std::numbers::pi *
                            (bins.frequency_x(c) * rest.x_px + bins.frequency_y(r) * rest.y_px);
        *light++ = bins.row(r)[c] * std::complex<float>(std::polar(weight, turn));
      }
    }
    const double noise = weight * part.gain * part.noise * light_in(patch);
    for (std::size_t k = 0; k < rings_; ++k) share.noise[p * rings_ + k] = noise * noise_shape_[k];
    share.weights[p] = weight;
  }
  return share;
}

void SpectralRatio::add(const std::vector<Part>& parts) {
  const std::size_t bytes = patches_.size() * bins_of(side_) * sizeof(std::complex<float>);
  const std::size_t at_once = std::max<std::size_t>(kMostBytes / bytes, 1);
  for (std::size_t first = 0; first < parts.size(); first += at_once) {
    std::vector<Share> shares(std::min(at_once, parts.size() - first));
    parallel_for(static_cast<std::int64_t>(shares.size()), [&](std::int64_t n) {
      const auto i = static_cast<std::size_t>(n);
      shares[i] = share_of(parts[first + i]);
    });
    for (const Share& share : shares) add(share);
  }
}

void SpectralRatio::add(const Share& share) {
  for (std::size_t k = 0; k < frames_.size(); ++k) {
    frames_[k] += share.power[k];
    noise_[k] += share.noise[k];
  }
  auto& light = light_[count_ % 2];
  for (std::size_t i = 0; i < light.size(); ++i) light[i] += share.light[i];
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    weights_[p] += share.weights[p];
    light_weights_[count_ % 2][p] += share.weights[p];
  }
  ++count_;
}

// Of the mean of the frames: what its two halves share.
SpectralRatio::Powers SpectralRatio::coherent_powers() const {
  Powers out(patches_.size() * rings_);
  const spectrum::Spectrum grid(side_);
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    const double both = light_weights_[0][p] * light_weights_[1][p];
    if (!(both > 0)) continue;
    std::size_t i = p * bins_of(side_);
    for (int r = 0; r < grid.rows(); ++r) {
      for (int c = 0; c < grid.columns(); ++c, ++i) {
        const double f = std::hypot(grid.frequency_x(c), grid.frequency_y(r));
        const auto ring = static_cast<std::size_t>(2 * f * static_cast<double>(rings_));
        if (ring >= rings_) continue;
        out[p * rings_ + ring] +=
            grid.multiplicity(c) / both *
            std::complex<double>(light_[0][i] * std::conj(light_[1][i])).real();
      }
    }
  }
  return out;
}

// Of the stack, patch by patch: power of the mean less that of half the difference, which is its
// noise, and what interpolation took of it put back.
SpectralRatio::Powers SpectralRatio::kept_by(PlaneView first, PlaneView second) const {
  Powers kept(patches_.size() * rings_);
  spectrum::Fft fft(side_);
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    if (!(weights_[p] > 0)) continue;
    const Plane a = cut(first, patches_[p].x, patches_[p].y, 0.5F);
    const Plane b = cut(second, patches_[p].x, patches_[p].y, 0.5F);
    for (const float sign : {1.0F, -1.0F}) {
      Plane both = Plane::copy_of(b.view());
      scale(both.view(), sign);
      lull::add(both.view(), a.view());
      add_power(spectrum::windowed_spectrum(std::as_const(both).view(), across_, down_, fft),
                static_cast<double>(sign), kept.data() + p * rings_);
    }
  }
  for (std::size_t k = 0; k < rings_; ++k) {
    const double left = spectrum::cubic_transfer(middle_of(k));
    for (std::size_t p = 0; p < patches_.size(); ++p) kept[p * rings_ + k] /= left * left;
  }
  return kept;
}

std::vector<spectrum::RatioRing> SpectralRatio::against(PlaneView first, PlaneView second) const {
  std::vector<spectrum::RatioRing> rings(rings_);
  for (std::size_t k = 0; k < rings_; ++k) rings[k].frequency = middle_of(k);
  const Powers kept = kept_by(first, second);
  const Powers coherent = coherent_powers();
  const double correction = noise_correction(kept);
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    if (!(weights_[p] > 0)) continue;
    for (std::size_t k = 0; k < rings_; ++k) {
      rings[k].kept_power += kept[p * rings_ + k];
      rings[k].mean_power += coherent[p * rings_ + k];
      const double noise = correction * noise_[p * rings_ + k] / weights_[p];
      rings[k].frame_power += frames_[p * rings_ + k] / weights_[p] - noise;
      rings[k].frame_noise += noise;
    }
  }
  if (!smoothed_) return rings;
  const std::vector<double> all = noise_shape(capture::Colour::mono);
  for (std::size_t k = 0; k < rings_; ++k) {
    if (all[k] > 0) rings[k].smoothing = noise_shape_[k] / all[k];
    if (rings[k].frequency > kFinestOfMosaic) rings[k].frame_power = 0;
  }
  return rings;
}

}  // namespace lull::stack
