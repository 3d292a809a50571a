#include "stack/fusion_correction.h"

#include <algorithm>
#include <complex>
#include <utility>

#include "core/parallel.h"
#include "stack/nearby_rings.h"

namespace lull::stack {

namespace {

constexpr float kLeastOverlap = 0.1F;
constexpr double kLeastShared = 0.1;  // of the power of a ring, between the halves

}  // namespace

FusionCorrection::FusionCorrection(const FusionPatches& patches, const FusionSumsOfHalves& sums,
                                   PlaneView first_half, PlaneView second_half)
    : patches_(patches), sums_(sums), level_(patches.rings(), 1.0F) {
  std::vector<std::vector<RingPowers>> found(patches_.count());
  parallel_for(static_cast<std::int64_t>(found.size()), [&](std::int64_t p) {
    const auto patch = static_cast<std::size_t>(p);
    found[patch] = powers_in(patch, first_half, second_half);
  });
  for (std::size_t k = 0; k < level_.size(); ++k) {
    const auto sum = [&](double RingPowers::*what) {
      return sum_nearby(k, level_.size(), [&](std::size_t ring) {
        double total = 0;
        for (const auto& patch : found) total += patch[ring].*what;
        return total;
      });
    };
    const double own = sum(&RingPowers::own);
    if (own > kLeastShared * sum(&RingPowers::whole))
      level_[k] = static_cast<float>(std::clamp(sum(&RingPowers::cross) / own, 0.5, 2.0));
  }
}

std::vector<FusionCorrection::RingPowers> FusionCorrection::powers_in(std::size_t patch,
                                                                      PlaneView first_half,
                                                                      PlaneView second_half) const {
  std::vector<RingPowers> out(patches_.rings());
  FusionPatches::Workspace work(patches_.side());
  for (const Half half : kHalves) {
    patches_.transform(half == Half::first ? first_half : second_half, patch, work, work.frame);
    const std::complex<float>* c = work.frame.row(0);
    const auto index = static_cast<std::size_t>(half);
    const FusionSums& same = sums_[patch][index];
    const FusionSums& other = sums_[patch][1 - index];
    for (std::size_t i = 0; i < patches_.bins(); ++i) {
      if (!(same.power[i] > 0 && other.power[i] > 0)) continue;
      const std::complex<float> f = other.light[i] / other.power[i];
      const float multiplicity = patches_.multiplicity(i);
      RingPowers& sum = out[patches_.ring(i)];
      sum.cross += static_cast<double>(multiplicity * (c[i] * std::conj(f)).real());
      sum.own +=
          static_cast<double>(multiplicity * (f * std::conj(same.light[i] / same.power[i])).real());
      sum.whole += static_cast<double>(multiplicity * std::norm(f));
    }
  }
  return out;
}

Plane FusionCorrection::corrected(PlaneView stack) const {
  return corrected_by(stack, {Half::first, Half::second});
}

Plane FusionCorrection::half_corrected(PlaneView half_stack, Half half) const {
  return corrected_by(half_stack, {half});
}

// The fused patch minus that of the stack.
Plane FusionCorrection::change_in(std::size_t patch, PlaneView stack,
                                  const std::vector<Half>& halves) const {
  FusionPatches::Workspace work(patches_.side());
  patches_.transform(stack, patch, work, work.frame);
  std::complex<float>* bins = work.frame.row(0);
  for (std::size_t i = 0; i < patches_.bins(); ++i) {
    std::complex<float> light = 0;
    float power = 0;
    for (const Half half : halves) {
      const FusionSums& sums = sums_[patch][static_cast<std::size_t>(half)];
      light += sums.light[i];
      power += sums.power[i];
    }
    bins[i] = power > 0 ? level_[patches_.ring(i)] * light / power - bins[i] : 0;
  }
  work.fft.inverse(work.frame, work.plane.view());
  return std::move(work.plane);
}

Plane FusionCorrection::corrected_by(PlaneView stack, const std::vector<Half>& halves) const {
  std::vector<Plane> changes(patches_.count());
  parallel_for(static_cast<std::int64_t>(changes.size()), [&](std::int64_t p) {
    const auto patch = static_cast<std::size_t>(p);
    changes[patch] = change_in(patch, stack, halves);
  });
  Plane sum(patches_.picture().size());
  Plane overlap(patches_.picture().size());
  for (std::size_t p = 0; p < changes.size(); ++p) {
    const Place corner = patches_.corner(p);
    for (int j = 0; j < patches_.side().height_px; ++j) {
      const float* from = changes[p].row(j);
      float* to = sum.row(corner.y + j) + corner.x;
      float* weights = overlap.row(corner.y + j) + corner.x;
      for (int i = 0; i < patches_.side().width_px; ++i) {
        const float window = patches_.window(i, j);
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
