#include "stack/spectral_ratio.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdint>
#include <numbers>
#include <utility>

#include "core/parallel.h"
#include "spectrum/patch_grid.h"
#include "spectrum/sampling.h"
#include "spectrum/window_kernels.h"

namespace lull::stack {

namespace {

constexpr int kPatchSide = 128;
constexpr std::size_t kRings = 32;  // from 0 to 0.5 cycles/px
constexpr std::size_t kNoiseRings = 3;
constexpr double kMostCorrection = 4;
constexpr std::size_t kManyPatches = 5;  // along an axis
constexpr int kRounds = 2;               // of moving a patch
constexpr double kRim = 0.125;           // of a patch
constexpr double kTiltShare = 0.13;      // of the resolution: 0.12 of the cutoff
// Of a mosaic's luminance: half way to where the mosaic carries its colours (Alleysson, Suesstrunk
// & Herault 2005, IEEE Trans. Image Processing 14, 439). Beyond, frames show colour, not detail.
constexpr double kFinestOfMosaic = 0.25;

// Of a ring, cycles/px.
double middle_of(std::size_t ring) {
  return 0.5 * (static_cast<double>(ring) + 0.5) / static_cast<double>(kRings);
}

int side_for(int length) {
  return length <= kPatchSide ? spectrum::fast_length_below(length) : kPatchSide;
}

// Patches half a side apart, or a whole side where there are many: their number matters less than
// that of the frames, since the air is the same for all patches of a moment.
std::vector<int> starts(int from, int to, int side) {
  const std::vector<int> all = spectrum::patch_starts(from, to, side);
  if (all.size() < kManyPatches) return all;
  std::vector<int> out;
  for (std::size_t i = 0; i < all.size(); i += 2) out.push_back(all[i]);
  return out;
}

// A wave of a spectrum that is moved by a displacement.
std::complex<float> wave(double frequency, double displacement_px, double amplitude) {
  return std::complex<float>(
      std::polar(amplitude, 2 * std::numbers::pi * frequency * displacement_px));
}

}  // namespace

struct SpectralRatio::Workspace {
  Workspace(Size side, std::size_t bins)
      : fft(side), patch(side), windowed(side), spectrum(side), power(bins) {}

  spectrum::Fft fft;
  Plane patch;
  Plane windowed;
  spectrum::Spectrum spectrum;
  FrameOffset place;           ///< of the patch in the frame
  Displacement rest;           ///< by which whole pixels left it displaced
  std::vector<float> power;    ///< sums over the frames, by bin
  std::vector<float> weights;  ///< of a row
  std::vector<std::complex<float>> across;
};

SpectralRatio::SpectralRatio(Box area, capture::Colour colour, PlaneView reference,
                             double resolution)
    : side_{side_for(area.width_px()), side_for(area.height_px())},
      bins_(side_, kRings),
      across_(spectrum::tukey_window(side_.width_px, 1)),
      down_(spectrum::tukey_window(side_.height_px, 1)),
      smoothed_(colour == capture::Colour::cfa),
      noise_shape_(noise_shape(colour)),
      tilt_(side_, kTiltShare * resolution) {
  const std::vector<int> columns = starts(area.x0, area.x1, side_.width_px);
  for (const int y : starts(area.y0, area.y1, side_.height_px)) {
    for (const int x : columns) {
      Patch& patch = patches_.emplace_back();
      patch.place = {x, y};
      for (auto& sums : patch.light) sums.resize(bins_.count());
    }
  }
  frames_.resize(patches_.size() * kRings);
  noise_.resize(patches_.size() * kRings);
  Workspace work(side_, 0);
  for (Patch& patch : patches_) {
    cut(reference, patch.place.x, patch.place.y, 1, work.patch);
    spectrum::windowed_spectrum(work.patch.view(), across_, down_, work.fft, work.windowed,
                                patch.reference);
  }
}

void SpectralRatio::cut(PlaneView from, int x, int y, float factor, Plane& out) const {
  const bool whole = x >= 0 && x + side_.width_px <= from.width_px;
  for (int j = 0; j < side_.height_px; ++j) {
    const float* row = from.row(std::clamp(y + j, 0, from.height_px - 1));
    float* to = out.row(j);
    if (whole) {
      for (int i = 0; i < side_.width_px; ++i) to[i] = factor * row[x + i];
    } else {
      for (int i = 0; i < side_.width_px; ++i)
        to[i] = factor * row[std::clamp(x + i, 0, from.width_px - 1)];
    }
  }
}

// Power of white noise of variance 1 on the rings, as the luminance passes it on.
std::vector<double> SpectralRatio::noise_shape(capture::Colour colour) const {
  const spectrum::Spectrum bins(side_);
  std::vector<float> kept(bins_.count(), 1.0F);
  if (colour == capture::Colour::cfa) {
    std::size_t i = 0;
    for (int r = 0; r < bins.rows(); ++r) {
      for (int c = 0; c < bins.columns(); ++c, ++i) {
        kept[i] = static_cast<float>(spectrum::smoothing_power(bins.frequency_x(c)) *
                                     spectrum::smoothing_power(bins.frequency_y(r)));
      }
    }
  }
  std::vector<double> rings(kRings);
  bins_.add(kept, 1, rings.data());
  return rings;
}

// Light under the square of the window, which is where the variance of photons comes from.
double SpectralRatio::light_in(const Plane& patch) const {
  double sum = 0;
  for (int y = 0; y < patch.height(); ++y) {
    float in_row = 0;
    spectrum::kernels::squared_window_sum()(patch.row(y), across_.data(), patch.width(), &in_row);
    const auto w = static_cast<double>(down_[static_cast<std::size_t>(y)]);
    sum += w * w * static_cast<double>(in_row);
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
    for (std::size_t k = kRings - kNoiseRings; k < kRings; ++k) {
      power += frames_[p * kRings + k] - patches_[p].weight * kept[p * kRings + k];
      noise += noise_[p * kRings + k];
    }
  }
  return noise > 0 ? std::clamp(power / noise, 1 / kMostCorrection, kMostCorrection) : 1;
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

// Whole pixels: interpolation would mute the frame, and it is part of what the stack loses.
bool SpectralRatio::find(const Patch& patch, const Part& part, Workspace& work) const {
  FrameOffset offset =
      part.field->at(patch.place.x + 0.5 * side_.width_px, patch.place.y + 0.5 * side_.height_px);
  Place at;
  for (int round = 0; round < kRounds; ++round) {
    const Place next{static_cast<int>(std::lround(offset.x_px)),
                     static_cast<int>(std::lround(offset.y_px))};
    if (round > 0 && next.x == at.x && next.y == at.y) break;
    at = next;
    cut(part.frame, patch.place.x + at.x, patch.place.y + at.y, static_cast<float>(part.gain),
        work.patch);
    spectrum::windowed_spectrum(work.patch.view(), across_, down_, work.fft, work.windowed,
                                work.spectrum);
    work.rest = tilt_.between(work.spectrum, patch.reference);
    offset = {at.x + work.rest.x_px, at.y + work.rest.y_px};
  }
  return inside(part.frame, patch.place, offset);
}

void SpectralRatio::add_frame(Patch& patch, const Part& part, std::size_t half, double* noise,
                              Workspace& work) const {
  if (!find(patch, part, work)) return;
  work.weights.resize(part.field->row_size());
  part.field->expand(*part.weights, patch.place.y + side_.height_px / 2, work.weights.data());
  const float weight = work.weights[static_cast<std::size_t>(patch.place.x + side_.width_px / 2)];
  const spectrum::Spectrum& bins = work.spectrum;
  work.across.resize(static_cast<std::size_t>(bins.columns()));
  for (int c = 0; c < bins.columns(); ++c) {
    work.across[static_cast<std::size_t>(c)] =
        wave(bins.frequency_x(c), work.rest.x_px, static_cast<double>(weight));
  }
  std::complex<float>* light = patch.light[half].data();
  float* power = work.power.data();
  for (int r = 0; r < bins.rows(); ++r) {
    const std::complex<float> down = wave(bins.frequency_y(r), work.rest.y_px, 1);
    const std::complex<float>* row = bins.row(r);
    for (const std::complex<float>& across : work.across) {
      const std::complex<float> bin = *row++;
      *power++ += weight * (bin.real() * bin.real() + bin.imag() * bin.imag());
      *light++ += bin * (across * down);
    }
  }
  patch.weight += static_cast<double>(weight);
  patch.light_weight[half] += static_cast<double>(weight);
  *noise += static_cast<double>(weight) * part.gain * part.noise * light_in(work.patch);
}

void SpectralRatio::add(const std::vector<Part>& parts) {
  parallel_for(static_cast<std::int64_t>(patches_.size()),
               [&](std::int64_t p) { add_to(static_cast<std::size_t>(p), parts); });
  count_ += parts.size();
}

void SpectralRatio::add_to(std::size_t patch, const std::vector<Part>& parts) {
  Workspace work(side_, bins_.count());
  double noise = 0;
  for (std::size_t i = 0; i < parts.size(); ++i)
    add_frame(patches_[patch], parts[i], (count_ + i) % 2, &noise, work);
  bins_.add(work.power, 1, frames_.data() + patch * kRings);
  for (std::size_t k = 0; k < kRings; ++k) noise_[patch * kRings + k] += noise * noise_shape_[k];
}

// Of the mean of the frames: what its two halves share.
SpectralRatio::Powers SpectralRatio::coherent_powers() const {
  Powers out(patches_.size() * kRings);
  std::vector<float> shared(bins_.count());
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    const Patch& patch = patches_[p];
    const double both = patch.light_weight[0] * patch.light_weight[1];
    if (!(both > 0)) continue;
    for (std::size_t i = 0; i < shared.size(); ++i)
      shared[i] = (patch.light[0][i] * std::conj(patch.light[1][i])).real();
    bins_.add(shared, 1 / both, out.data() + p * kRings);
  }
  return out;
}

// Of the stack, patch by patch: power of the mean less that of half the difference, which is its
// noise, and what interpolation took of it put back.
SpectralRatio::Powers SpectralRatio::kept_by(PlaneView first, PlaneView second) const {
  Powers kept(patches_.size() * kRings);
  Workspace work(side_, bins_.count());
  Plane half(side_);
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    const Patch& patch = patches_[p];
    if (!(patch.weight > 0)) continue;
    cut(first, patch.place.x, patch.place.y, 0.5F, half);
    for (const float sign : {1.0F, -1.0F}) {
      cut(second, patch.place.x, patch.place.y, 0.5F * sign, work.patch);
      lull::add(work.patch.view(), half.view());
      spectrum::windowed_spectrum(std::as_const(work.patch).view(), across_, down_, work.fft,
                                  work.windowed, work.spectrum);
      const std::complex<float>* bins = work.spectrum.row(0);
      for (std::size_t i = 0; i < work.power.size(); ++i) work.power[i] = std::norm(bins[i]);
      bins_.add(work.power, static_cast<double>(sign), kept.data() + p * kRings);
    }
  }
  for (std::size_t k = 0; k < kRings; ++k) {
    const double left = spectrum::cubic_transfer(middle_of(k));
    for (std::size_t p = 0; p < patches_.size(); ++p) kept[p * kRings + k] /= left * left;
  }
  return kept;
}

std::vector<spectrum::RatioRing> SpectralRatio::against(PlaneView first, PlaneView second) const {
  std::vector<spectrum::RatioRing> rings(kRings);
  for (std::size_t k = 0; k < kRings; ++k) rings[k].frequency = middle_of(k);
  const Powers kept = kept_by(first, second);
  const Powers coherent = coherent_powers();
  const double correction = noise_correction(kept);
  for (std::size_t p = 0; p < patches_.size(); ++p) {
    if (!(patches_[p].weight > 0)) continue;
    for (std::size_t k = 0; k < kRings; ++k) {
      rings[k].kept_power += kept[p * kRings + k];
      rings[k].mean_power += coherent[p * kRings + k];
      const double noise = correction * noise_[p * kRings + k] / patches_[p].weight;
      rings[k].frame_power += frames_[p * kRings + k] / patches_[p].weight - noise;
      rings[k].frame_noise += noise;
    }
  }
  if (!smoothed_) return rings;
  const std::vector<double> all = noise_shape(capture::Colour::mono);
  for (std::size_t k = 0; k < kRings; ++k) {
    if (all[k] > 0) rings[k].smoothing = noise_shape_[k] / all[k];
    if (rings[k].frequency > kFinestOfMosaic) rings[k].frame_power = 0;
  }
  return rings;
}

}  // namespace lull::stack
