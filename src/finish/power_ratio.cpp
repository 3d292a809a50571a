#include "finish/power_ratio.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <utility>

#include "spectrum/coherence.h"

namespace lull::finish {

namespace {

using Ring = spectrum::RatioRing;

constexpr double kCells = 6.3;  // at the cutoff, in poor air
constexpr double kCellsPower = -1.45;
constexpr double kCellsLost = 0.5;  // power of 1 - core
constexpr double kEvenAir = 2.8;    // D / r0 for which power and coherence agree
constexpr double kUnevenPower = 0.35;
constexpr double kEvenAirOfCapture = 6;  // likewise of frames that were not chosen
constexpr double kUnevenPowerOfCapture = 0.15;
constexpr double kBlurringAir = 5;  // D / r0 of which an exposure loses half of the speckles
constexpr double kBlurringPower = 3;
constexpr double kTurbulenceError = 0.1;  // standard deviation of its logarithm
constexpr double kTurbulenceReach = 2;    // standard deviations either way that are looked at
constexpr int kTurbulenceSteps = 5;
constexpr double kRatioError = 0.064;        // standard deviation
constexpr double kCaptureRatioError = 0.15;  // likewise, relative
constexpr double kLeastRatio = 0.3;          // of which that is taken
constexpr double kMostRatio = 1.2;           // of kept frames: noise makes it more
constexpr double kRatioRings = 6;            // independent ones
constexpr double kFinest = 0.85;             // of the cutoff: beyond it the telescope passes little
constexpr double kLeastSignal = 0.1;         // of the noise, in the frames
constexpr double kLeastNoise = 1e-3;         // of the power of the frames
constexpr std::size_t kFirstRing = 2;        // coarser ones hold shading
constexpr std::array<std::size_t, 2> kCoarseRings = {1, 2};

std::vector<Ring> rings_of(const std::vector<Ring>& rings, FrameSet frames) {
  std::vector<Ring> out = rings;
  if (frames == FrameSet::kept) return out;
  for (Ring& ring : out) {
    ring.frame_power = ring.capture_power;
    ring.frame_noise = ring.capture_noise;
    ring.mean_power = ring.capture_mean_power;
  }
  return out;
}

double ratio_of(const Ring& ring) { return ring.kept_power / ring.frame_power; }

// How many cells the aperture has at a frequency, before the core takes some.
double cells_at(double q) { return kCells * std::pow(q, kCellsPower); }

// Of frames that were not chosen. Speckles move and boil while they are exposed, the faster the
// stronger the air; what all frames share stays.
double power_while_exposed(double q, double turbulence) {
  const double shared = spectrum::expected_coherence(q, turbulence);
  const double left = 1 / (1 + std::pow(turbulence / kBlurringAir, kBlurringPower));
  return spectrum::expected_speckle_power(q, turbulence) * (shared + (1 - shared) * left);
}

// D / r0 of which air the frames, or their stack, agree as much.
std::optional<double> nearest_turbulence(const std::vector<Ring>& rings, double cutoff,
                                         double Ring::*power) {
  std::vector<spectrum::Coherence> measured;
  for (const Ring& ring : rings) {
    if (!(ring.frame_power > 0)) continue;
    const double noise = std::max(ring.frame_noise, kLeastNoise * ring.frame_power);
    measured.push_back({ring.frequency / cutoff, std::min(ring.*power / ring.frame_power, 1.0),
                        ring.frame_power / noise});
  }
  return spectrum::nearest_turbulence(measured);
}

}  // namespace

PowerRatio::PowerRatio(const std::vector<Ring>& rings, double resolution, FrameSet frames,
                       double coherence_share)
    : frames_(frames), coherence_share_(coherence_share), rings_(rings_of(rings, frames)) {
  for (const std::size_t k : kCoarseRings) {
    if (k < rings_.size() && rings_[k].frame_power > 0) coarse_.push_back(rings_[k].frequency);
  }
  const double coarse = coarse_ratio();
  if (!(coarse > 0)) return;
  const bool kept = frames_ == FrameSet::kept;
  for (std::size_t k = kFirstRing; k < rings_.size(); ++k) {
    const Ring& ring = rings_[k];
    if (ring.frequency > resolution) break;
    if (!(ring.frame_power > 0 && ring.frame_power > kLeastSignal * ring.frame_noise)) continue;
    const double wiener = ring.frame_power / (ring.frame_power + ring.frame_noise);
    const double ratio = std::max(ratio_of(ring) / coarse, 0.0);
    samples_.push_back(
        {ring.frequency, kept ? std::min(ratio, kMostRatio) : ratio, wiener * wiener});
  }
}

// Thin cloud makes frames darker than their stack; coarse detail shows by how much. Small frames
// have no bin in the coarser of these rings. 0: in none is there signal.
double PowerRatio::coarse_ratio() const {
  double sum = 0;
  double count = 0;
  for (const std::size_t k : kCoarseRings) {
    if (k >= rings_.size() || !(rings_[k].frame_power > 0)) continue;
    sum += ratio_of(rings_[k]);
    ++count;
  }
  return count > 0 ? sum / count : 0;
}

// D / r0 of which air leaves as much power. The better frames are kept, so they agree more than
// their power says; patches hold several directions, which agree less. The first prevails in poor
// air, the second in good air. Where the coherence of the kept frames was not measured it is taken
// from that of the stack, which registration has raised.
std::optional<double> PowerRatio::turbulence(double cutoff) const {
  if (frames_ == FrameSet::of_capture) {
    const auto found = nearest_turbulence(rings_, cutoff, &Ring::mean_power);
    if (!found) return std::nullopt;
    return *found * std::pow(*found / kEvenAirOfCapture, kUnevenPowerOfCapture);
  }
  auto found = nearest_turbulence(rings_, cutoff, &Ring::mean_power);
  if (!found) found = nearest_turbulence(rings_, cutoff, &Ring::kept_power);
  if (!found) return std::nullopt;
  return *found * std::pow(*found / kEvenAir, kUnevenPower);
}

double PowerRatio::power_by_coherence(double q, double turbulence) const {
  return frames_ == FrameSet::kept
             ? std::pow(spectrum::expected_speckle_power(q, turbulence), coherence_share_)
             : power_while_exposed(q, turbulence);
}

std::optional<PowerRatio::AtCutoff> PowerRatio::at(double cutoff) const& {
  const auto found = turbulence(cutoff);
  if (!found) return std::nullopt;
  return AtCutoff(*this, cutoff, *found);
}

PowerRatio::AtCutoff::AtCutoff(const PowerRatio& of, double cutoff, double turbulence) : of_(&of) {
  for (int k = 0; k < kTurbulenceSteps; ++k) {
    const double off = kTurbulenceReach * (2.0 * k / (kTurbulenceSteps - 1) - 1);
    const double strength = turbulence * std::exp(kTurbulenceError * off);
    Air air{{}, {}, off * off};
    for (const Sample& s : of.samples_)
      air.power.push_back(of.power_by_coherence(s.frequency / cutoff, strength));
    for (const double frequency : of.coarse_)
      air.coarse.push_back(of.power_by_coherence(frequency / cutoff, strength));
    airs_.push_back(std::move(air));
  }
  for (const Sample& s : of.samples_) cells_.push_back(cells_at(s.frequency / cutoff));
}

PowerRatio::AtCutoff::Halo PowerRatio::AtCutoff::passed_by(double halo) const {
  Halo out;
  for (const Sample& s : of_->samples_) out.rings.push_back(halo_transfer(s.frequency, halo));
  for (const double frequency : of_->coarse_) out.coarse.push_back(halo_transfer(frequency, halo));
  return out;
}

// Even coarse detail of the kept frames is better than that of the capture.
double PowerRatio::AtCutoff::expected_coarse(const Air& air, const Blur& blur,
                                             const Halo& halo) const {
  if (of_->frames_ == FrameSet::kept) return 1;
  double sum = 0;
  for (std::size_t i = 0; i < air.coarse.size(); ++i) {
    const double t = blur.transfer_with(halo.coarse[i]);
    sum += t * t / air.coarse[i];
  }
  return sum / static_cast<double>(air.coarse.size());
}

std::optional<double> PowerRatio::AtCutoff::deviance(const Blur& blur, const Halo& halo) const {
  const bool kept = of_->frames_ == FrameSet::kept;
  std::vector<double> coarse;
  for (const Air& air : airs_) coarse.push_back(expected_coarse(air, blur, halo));
  std::vector<double> error(airs_.size());
  const double cells_left = std::pow(1 - blur.core, kCellsLost);
  double weight = 0;
  for (std::size_t i = 0; i < of_->samples_.size(); ++i) {
    const Sample& s = of_->samples_[i];
    if (s.frequency > kFinest * blur.cutoff) break;
    const double t = blur.transfer_with(halo.rings[i]);
    double power = t * t;
    if (kept) {
      const double by_cells = t * t + (1 - t * t) / (cells_[i] * cells_left);
      power /= std::pow(by_cells, 1 - of_->coherence_share_);
    }
    for (std::size_t k = 0; k < airs_.size(); ++k) {
      const double expected = power / airs_[k].power[i] / coarse[k];
      const double sigma =
          kept ? kRatioError : kCaptureRatioError * std::max(expected, kLeastRatio);
      const double miss = (s.ratio - expected) / sigma;
      error[k] += s.weight * miss * miss;
    }
    weight += s.weight;
  }
  if (!(weight > 0)) return std::nullopt;
  for (std::size_t k = 0; k < airs_.size(); ++k)
    error[k] = kRatioRings * error[k] / weight + airs_[k].deviance;
  const double least = *std::min_element(error.begin(), error.end());
  double likelihood = 0;
  for (const double one : error) likelihood += std::exp(-0.5 * (one - least));
  return least - 2 * std::log(likelihood);
}

}  // namespace lull::finish
