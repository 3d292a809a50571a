#include "finish/blur.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace lull::finish {

namespace {

using Ring = stack::SpectralRatio::Ring;

constexpr double kHaloShare = 0.26;     // of the cutoff
constexpr double kHaloGrowth = 0.3;     // of the cutoff, with the core
constexpr double kResolvedShare = 0.9;  // of the cutoff, where the halves usually still correlate
constexpr double kMostResolved = 0.98;
constexpr double kLeastResolved = 0.4;
constexpr double kHighestCutoff = 0.5;  // cycles/px
constexpr int kCutoffs = 20;
// Squared error of the ratio that makes up for a cutoff e times the usual one.
constexpr double kUnusualCutoff = 0.002;
constexpr double kCells = 2.8;  // at the cutoff
constexpr double kCellsPower = -1.7;
constexpr double kFinest = 0.85;       // of the cutoff: beyond it the telescope passes little
constexpr double kLeastSignal = 0.1;   // of the noise, in the frames
constexpr std::size_t kFirstRing = 2;  // coarser ones hold shading
constexpr double kUsualCore = 0.35;    // where the frames are too noisy to tell
constexpr int kSteps = 99;

double ratio_for(double transfer, double cells) {
  const double kept = transfer * transfer;
  return kept / (kept + (1 - kept) / cells);
}

// A ring of which the frames tell, by how much.
struct Evidence {
  double frequency = 0;
  double ratio = 0;
  double cells = 1;
  double weight = 0;
};

double ratio_of(const Ring& ring) { return ring.kept_power / ring.frame_power; }

// Thin cloud makes frames darker than their stack; coarse detail shows by how much. Small frames
// have no bin in the coarser of these rings. 0: neither tells.
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

std::vector<Evidence> evidence_of(const std::vector<Ring>& rings, double resolution,
                                  double cutoff) {
  const double usual = coarse_ratio(rings);
  if (!(usual > 0)) return {};
  std::vector<Evidence> out;
  for (std::size_t k = kFirstRing; k < rings.size(); ++k) {
    const Ring& ring = rings[k];
    if (ring.frequency > std::min(resolution, kFinest * cutoff)) break;
    if (!(ring.frame_power > 0 && ring.frame_power > kLeastSignal * ring.frame_noise)) continue;
    const double certain = ring.frame_power / (ring.frame_power + ring.frame_noise);
    out.push_back({ring.frequency, std::clamp(ratio_of(ring) / usual, 0.0, 1.2),
                   kCells * std::pow(ring.frequency / cutoff, kCellsPower), certain * certain});
  }
  return out;
}

// Mean squared error of the ratio, by weight.
double misfit(const std::vector<Evidence>& evidence, const Blur& blur) {
  double error = 0;
  double weight = 0;
  for (const Evidence& e : evidence) {
    const double miss = e.ratio - ratio_for(blur.transfer(e.frequency), e.cells);
    error += e.weight * miss * miss;
    weight += e.weight;
  }
  return error / weight;
}

}  // namespace

double Blur::transfer(double frequency) const {
  const double halo = (kHaloShare + kHaloGrowth * core) * cutoff;
  return core + (1 - core) * std::exp(-3.44 * std::pow(frequency / halo, 5.0 / 3.0));
}

Blur blur_of_stack(const std::vector<Ring>& ratio, double resolution) {
  const double usual_cutoff = resolution / kResolvedShare;
  Blur best{kUsualCore, usual_cutoff};
  if (ratio.size() <= kFirstRing || !(resolution > 0)) return best;
  const double lowest = resolution / kMostResolved;
  const double highest = std::max(std::min(resolution / kLeastResolved, kHighestCutoff), lowest);
  double least = std::numeric_limits<double>::infinity();
  for (int k = 0; k < kCutoffs; ++k) {
    const double cutoff = lowest * std::pow(highest / lowest, k / (kCutoffs - 1.0));
    const std::vector<Evidence> evidence = evidence_of(ratio, resolution, cutoff);
    if (evidence.empty()) continue;
    const double unusual = std::log(cutoff / usual_cutoff);
    for (int i = 1; i <= kSteps; ++i) {
      const Blur blur{0.01 + 0.99 * i / kSteps, cutoff};
      const double error = misfit(evidence, blur) + kUnusualCutoff * unusual * unusual;
      if (error >= least) continue;
      least = error;
      best = blur;
    }
  }
  return best;
}

}  // namespace lull::finish
