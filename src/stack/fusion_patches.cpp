#include "stack/fusion_patches.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <utility>

#include "spectrum/patch_grid.h"
#include "stack/fusion_kernels.h"

namespace lull::stack {

namespace {

constexpr int kSide = 96;
constexpr double kNeighbourBins = 2.5;  // standard deviation of the mean over neighbours
constexpr int kLeftOutBins = 1;         // on either side of the frequency itself
constexpr float kWeightPower = 0.7F;
constexpr float kLeastCover = 0.75F;  // of a patch by the frame
constexpr float kMostShare = 0.5F;    // of one frame in the reference

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

// Share of [start, start + side) inside [0, length).
float cover(double start, int side, int length) {
  const double from = std::max(start, 0.0);
  const double to = std::min(start + side, static_cast<double>(length));
  return static_cast<float>(std::clamp((to - from) / side, 0.0, 1.0));
}

}  // namespace

std::size_t FusionPatches::bytes(Size size) {
  const Size side = {side_for(size.width_px), side_for(size.height_px)};
  const std::size_t patches = spectrum::patch_starts(0, size.width_px, side.width_px).size() *
                              spectrum::patch_starts(0, size.height_px, side.height_px).size();
  const auto bins =
      static_cast<std::size_t>(side.height_px) * static_cast<std::size_t>(side.width_px / 2 + 1);
  constexpr std::size_t kPerBin = 8 + 4 + 2 * (8 + 4);
  return patches * bins * kPerBin;
}

FusionPatches::FusionPatches(PlaneView reference, const std::vector<std::vector<float>>& weights)
    : reference_(Plane::copy_of(reference)),
      shape_(reference.size()),
      side_{side_for(reference.width_px), side_for(reference.height_px)},
      across_(sine_window(side_.width_px)),
      down_(sine_window(side_.height_px)),
      lag_(lag_window(side_)) {
  index_rings();
  for (const int y : spectrum::patch_starts(0, reference.height_px, side_.height_px)) {
    for (const int x : spectrum::patch_starts(0, reference.width_px, side_.width_px)) {
      Patch patch;
      patch.corner = {x, y};
      patches_.push_back(std::move(patch));
    }
  }
  parallel_for(static_cast<std::int64_t>(count()), [&](std::int64_t p) {
    add_reference(patches_[static_cast<std::size_t>(p)], weights);
  });
}

void FusionPatches::index_rings() {
  const spectrum::Spectrum bins(side_);
  const int longest = std::max(side_.width_px, side_.height_px);
  rings_ = static_cast<std::size_t>(longest) / 2 + 1;
  for (int r = 0; r < bins.rows(); ++r) {
    for (int c = 0; c < bins.columns(); ++c) {
      const double f = std::hypot(bins.frequency_x(c), bins.frequency_y(r));
      ring_.push_back(static_cast<std::uint16_t>(std::min(std::lround(f * longest), longest / 2L)));
      multiplicity_.push_back(static_cast<float>(bins.multiplicity(c)));
    }
  }
}

void FusionPatches::add_reference(Patch& patch,
                                  const std::vector<std::vector<float>>& weights) const {
  Workspace work(side_);
  transform(reference_.view(), patch.corner, work, patch.reference);
  const std::complex<float>* s = patch.reference.row(0);
  std::complex<float>* power = work.transfer.row(0);
  for (std::size_t i = 0; i < bins(); ++i) power[i] = std::norm(s[i]);
  average_neighbours(work.transfer, work);
  for (std::size_t i = 0; i < bins(); ++i) patch.power.push_back(std::max(power[i].real(), 0.0F));
  for (const auto& frame : weights) patch.reference_weight += weight_in(patch, frame);
}

void FusionPatches::transform(PlaneView from, std::size_t patch, Workspace& work,
                              spectrum::Spectrum& out) const {
  transform(from, patches_[patch].corner, work, out);
}

void FusionPatches::transform(PlaneView from, Place corner, Workspace& work,
                              spectrum::Spectrum& out) const {
  const Box box{corner.x, corner.y, corner.x + side_.width_px, corner.y + side_.height_px};
  spectrum::windowed_spectrum(from.crop(box), across_, down_, work.fft, work.plane, out);
}

// Finds F and H of a frame in a patch. Returns its weight there; 0: it does not count.
float FusionPatches::look_at(std::size_t index, const Contribution& part, PlaneView frame,
                             Workspace& work) const {
  const Patch& patch = patches_[index];
  const float covered = cover_of(patch, part);
  const float sharpness = weight_in(patch, *part.weights);
  if (!(covered > 0 && sharpness > 0)) return 0;
  transform(frame, patch.corner, work, work.frame);
  const float share = part.in_reference && patch.reference_weight > 0
                          ? std::min(sharpness / patch.reference_weight, kMostShare)
                          : 0.0F;
  find_transfer(patch, share, work);
  return covered * std::pow(sharpness, kWeightPower);
}

// The mean over neighbouring frequencies, in place.
void FusionPatches::average_neighbours(spectrum::Spectrum& spectrum, Workspace& work) const {
  work.fft.inverse(spectrum, work.plane.view());
  for (int y = 0; y < side_.height_px; ++y) {
    float* row = work.plane.row(y);
    const float* lag = lag_.data() + static_cast<std::ptrdiff_t>(y) * side_.width_px;
    for (int x = 0; x < side_.width_px; ++x) row[x] *= lag[x];
  }
  work.fft.forward(std::as_const(work.plane).view(), spectrum);
}

// How much of the patch the frame covers; 0 where it is too little.
float FusionPatches::cover_of(const Patch& patch, const Contribution& part) const {
  const auto [x, y] = patch.corner;
  const FrameOffset offset = part.field->at(x + 0.5 * side_.width_px, y + 0.5 * side_.height_px);
  const Size frame = part.channels[0].plane->size();
  const float covered = cover(x + offset.x_px, side_.width_px, frame.width_px) *
                        cover(y + offset.y_px, side_.height_px, frame.height_px);
  return covered < kLeastCover ? 0 : covered;
}

// Mean under the window of weights on nodes.
float FusionPatches::weight_in(const Patch& patch, const std::vector<float>& weights) const {
  constexpr int kNode = align::ShiftField::kNodePx;
  float sum = 0;
  float windows = 0;
  for (int r = patch.corner.y / kNode; r < shape_.rows(); ++r) {
    const int j = r * kNode + kNode / 2 - patch.corner.y;
    if (j >= side_.height_px) break;
    if (j < 0) continue;
    for (int c = patch.corner.x / kNode; c < shape_.columns(); ++c) {
      const int i = c * kNode + kNode / 2 - patch.corner.x;
      if (i >= side_.width_px) break;
      if (i < 0) continue;
      sum += window(i, j) *
             weights[static_cast<std::size_t>(r) * static_cast<std::size_t>(shape_.columns()) +
                     static_cast<std::size_t>(c)];
      windows += window(i, j);
    }
  }
  return windows > 0 ? sum / windows : 0;
}

// H of the frame in the workspace, without its own share of the reference.
void FusionPatches::find_transfer(const Patch& patch, float share, Workspace& work) const {
  const auto count = static_cast<int>(bins());
  float* h = spectrum::reals(work.transfer.row(0));
  kernels::cross_power()(spectrum::reals(work.frame.row(0)),
                         spectrum::reals(patch.reference.row(0)), share, count, h);
  average_neighbours(work.transfer, work);
  kernels::divide_by_power()(h, patch.power.data(), count);
}

}  // namespace lull::stack
