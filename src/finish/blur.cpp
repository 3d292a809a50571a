#include "finish/blur.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <optional>
#include <utility>

#include "finish/power_law.h"
#include "spectrum/coherence.h"

namespace lull::finish {

namespace {

using Ring = spectrum::RatioRing;

constexpr double kHaloShare = 0.18;   // of the cutoff
constexpr double kHaloGrowth = 0.48;  // of the cutoff, with the core
constexpr double kHaloLog = 0.2;      // standard deviation of its logarithm
constexpr double kCells = 6.3;        // at the cutoff, in poor air
constexpr double kCellsPower = -1.45;
constexpr double kCellsLost = 0.5;  // power of 1 - core
// Share of what follows from the coherence in the logarithm of the power, the rest follows from the
// cells: their standard deviations are 0.2 and 0.3.
constexpr double kCoherenceShare = 0.7;
constexpr double kEvenAir = 2.8;  // D / r0 for which power and coherence agree
constexpr double kUnevenPower = 0.35;
constexpr double kTurbulenceError = 0.1;  // standard deviation of its logarithm
constexpr double kTurbulenceReach = 2;    // standard deviations either way that are looked at
constexpr int kTurbulenceSteps = 5;
constexpr double kRatioError = 0.064;   // standard deviation
constexpr double kRatioRings = 6;       // independent ones
constexpr double kFinest = 0.85;        // of the cutoff: beyond it the telescope passes little
constexpr double kLeastSignal = 0.1;    // of the noise, in the frames
constexpr double kLeastNoise = 1e-3;    // of the power of the frames
constexpr std::size_t kFirstRing = 2;   // coarser ones hold shading
constexpr double kPriorCore = 0.35;     // where the frames are too noisy
constexpr double kResolvedShare = 0.9;  // of the cutoff, likewise
constexpr int kSteps = 32;
constexpr double kLeastCore = 0.03;
constexpr double kMostCore = 0.99;
constexpr double kLeastHalo = 0.15;  // of the cutoff
constexpr double kMostHalo = 0.75;

double between(double low, double high, int step) {
  return low * std::pow(high / low, step / (kSteps - 1.0));
}

double core_at(int step) { return between(kLeastCore, kMostCore, step); }

double halo_at(int step) { return between(kLeastHalo, kMostHalo, step); }

double expected_halo(double core) { return kHaloShare + kHaloGrowth * core; }

// Ratio of a ring in which the frames have signal, and its weight.
struct RingRatio {
  double frequency = 0;
  double ratio = 0;
  double weight = 0;
};

double ratio_of(const Ring& ring) { return ring.kept_power / ring.frame_power; }

// Thin cloud makes frames darker than their stack; coarse detail shows by how much. Small frames
// have no bin in the coarser of these rings. 0: in none is there signal.
double coarse_ratio(const std::vector<Ring>& rings) {
  double sum = 0;
  double count = 0;
  for (std::size_t k = 1; k <= kFirstRing; ++k) {
    if (!(rings[k].frame_power > 0)) continue;
    sum += ratio_of(rings[k]);
    ++count;
  }
  return count > 0 ? sum / count : 0;
}

std::vector<RingRatio> ring_ratios(const std::vector<Ring>& rings, double resolution) {
  const double coarse = coarse_ratio(rings);
  if (!(coarse > 0)) return {};
  std::vector<RingRatio> out;
  for (std::size_t k = kFirstRing; k < rings.size(); ++k) {
    const Ring& ring = rings[k];
    if (ring.frequency > resolution) break;
    if (!(ring.frame_power > 0 && ring.frame_power > kLeastSignal * ring.frame_noise)) continue;
    const double wiener = ring.frame_power / (ring.frame_power + ring.frame_noise);
    out.push_back({ring.frequency, std::clamp(ratio_of(ring) / coarse, 0.0, 1.2), wiener * wiener});
  }
  return out;
}

// D / r0 of which air leaves as much power: from the coherence of the frames, or where that was not
// measured from that of the stack, which registration has raised. The better frames are chosen, so
// they agree more than their power says; patches hold several directions, which agree less. The
// first prevails in poor air, the second in good air.
std::optional<double> turbulence_for(const std::vector<Ring>& rings, double cutoff) {
  for (const bool of_frames : {true, false}) {
    std::vector<spectrum::Coherence> measured;
    for (const Ring& ring : rings) {
      if (!(ring.frame_power > 0)) continue;
      const double power = of_frames ? ring.mean_power : ring.kept_power;
      const double noise = std::max(ring.frame_noise, kLeastNoise * ring.frame_power);
      measured.push_back({ring.frequency / cutoff, std::min(power / ring.frame_power, 1.0),
                          ring.frame_power / noise});
    }
    if (const auto found = spectrum::nearest_turbulence(measured))
      return *found * std::pow(*found / kEvenAir, kUnevenPower);
  }
  return std::nullopt;
}

// The mean power of the frames' transfer on each ring, to the power of its share, for strengths of
// the air about the one measured; each with its deviance.
struct Air {
  std::vector<double> power;
  double deviance = 0;
};

std::vector<Air> airs(const std::vector<RingRatio>& ratios, double turbulence, double cutoff) {
  std::vector<Air> out;
  for (int k = 0; k < kTurbulenceSteps; ++k) {
    const double off = kTurbulenceReach * (2.0 * k / (kTurbulenceSteps - 1) - 1);
    Air air{{}, off * off};
    for (const RingRatio& e : ratios) {
      const double power = spectrum::expected_speckle_power(
          e.frequency / cutoff, turbulence * std::exp(kTurbulenceError * off));
      air.power.push_back(std::pow(power, kCoherenceShare));
    }
    out.push_back(std::move(air));
  }
  return out;
}

// The mean power of the frames' transfer by the number of cells of the aperture.
double power_by_cells(const Blur& blur, double frequency) {
  const double t = blur.transfer(frequency);
  const double cells =
      kCells * std::pow(frequency / blur.cutoff, kCellsPower) * std::pow(1 - blur.core, kCellsLost);
  return t * t + (1 - t * t) / cells;
}

// Of the ratios under a blur, over all strengths of the air; none where no ring is left below its
// cutoff.
std::optional<double> deviance(const std::vector<RingRatio>& ratios, const std::vector<Air>& airs,
                               const Blur& blur) {
  std::vector<double> error(airs.size());
  double weight = 0;
  for (std::size_t i = 0; i < ratios.size() && ratios[i].frequency <= kFinest * blur.cutoff; ++i) {
    const double t = blur.transfer(ratios[i].frequency);
    const double expected =
        t * t / std::pow(power_by_cells(blur, ratios[i].frequency), 1 - kCoherenceShare);
    for (std::size_t k = 0; k < airs.size(); ++k) {
      const double miss = (ratios[i].ratio - expected / airs[k].power[i]) / kRatioError;
      error[k] += ratios[i].weight * miss * miss;
    }
    weight += ratios[i].weight;
  }
  if (!(weight > 0)) return std::nullopt;
  for (std::size_t k = 0; k < airs.size(); ++k)
    error[k] = kRatioRings * error[k] / weight + airs[k].deviance;
  const double least = *std::min_element(error.begin(), error.end());
  double likelihood = 0;
  for (const double one : error) likelihood += std::exp(-0.5 * (one - least));
  return least - 2 * std::log(likelihood);
}

// Of the prior of the halo and of `other`, by core, then halo.
std::vector<double> other_deviances(const Deviance& other) {
  std::vector<double> out;
  for (int i = 0; i < kSteps; ++i) {
    for (int j = 0; j < kSteps; ++j) {
      const double off = std::log(halo_at(j) / expected_halo(core_at(i))) / kHaloLog;
      out.push_back(off * off + (other ? other(core_at(i), halo_at(j)) : 0));
    }
  }
  return out;
}

struct Candidate {
  Blur blur;
  double deviance = 0;
};

std::vector<Candidate> candidates(const std::vector<Ring>& rings,
                                  const std::vector<RingRatio>& ratios, const PowerLaw& power,
                                  const Deviance& other) {
  const std::vector<double> others = other_deviances(other);
  std::vector<Candidate> out;
  for (const double cutoff : power.cutoffs()) {
    const auto turbulence = turbulence_for(rings, cutoff);
    if (!turbulence) continue;
    const std::vector<double> telescope = power.passed_by_telescope(cutoff);
    const std::vector<Air> around = airs(ratios, *turbulence, cutoff);
    auto joint = others.begin();
    for (int i = 0; i < kSteps; ++i) {
      for (int j = 0; j < kSteps; ++j) {
        const Blur blur{core_at(i), halo_at(j) * cutoff, cutoff};
        const auto ratio = deviance(ratios, around, blur);
        if (ratio) out.push_back({blur, *ratio + power.deviance(blur, telescope) + *joint});
        ++joint;
      }
    }
  }
  return out;
}

// Means of the logarithms, by likelihood.
Blur mean_of(const std::vector<Candidate>& all) {
  double least = std::numeric_limits<double>::infinity();
  for (const Candidate& w : all) least = std::min(least, w.deviance);
  double core = 0;
  double halo = 0;
  double cutoff = 0;
  double sum = 0;
  for (const Candidate& w : all) {
    const double likely = std::exp(-0.5 * (w.deviance - least));
    core += likely * std::log(w.blur.core);
    halo += likely * std::log(w.blur.halo);
    cutoff += likely * std::log(w.blur.cutoff);
    sum += likely;
  }
  return {std::exp(core / sum), std::exp(halo / sum), std::exp(cutoff / sum)};
}

}  // namespace

Blur blur_of_stack(const std::vector<Ring>& ratio, double resolution, const Deviance& other) {
  const double expected_cutoff = resolution / kResolvedShare;
  const Blur expected{kPriorCore, expected_halo(kPriorCore) * expected_cutoff, expected_cutoff};
  if (ratio.size() <= kFirstRing || !(resolution > 0)) return expected;
  const std::vector<RingRatio> ratios = ring_ratios(ratio, resolution);
  const std::vector<Candidate> all = candidates(ratio, ratios, PowerLaw(ratio, resolution), other);
  return all.empty() ? expected : mean_of(all);
}

}  // namespace lull::finish
