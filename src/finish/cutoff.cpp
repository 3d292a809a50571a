#include "finish/cutoff.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "finish/telescope.h"

namespace lull::finish {

namespace {

using Ring = stack::SpectralRatio::Ring;

constexpr int kChoices = 30;
constexpr double kMostResolved = 0.98;      // of the cutoff
constexpr double kOftenResolved = 0.9;      // of the cutoff: more is unusual
constexpr double kOftenResolvedLog = 0.08;  // standard deviation of its logarithm, above
constexpr double kLeastResolved = 0.35;
constexpr double kHighest = 0.6;  // cycles/px
// A pixel samples lambda over the focal ratio 2 to 5 times (common practice, no source).
constexpr double kUsual = 0.33;
constexpr double kUsualLog = 0.4;  // standard deviation of its logarithm
constexpr double kFrom = 0.35;     // of the resolution: coarser rings hold the halo's fall
constexpr double kCoarsest = 0.05;
constexpr double kFinest = 0.49;
constexpr double kNoiseFrom = 1.25;  // of the resolution: rings without detail
constexpr double kNoiseSpread = 1.5;
constexpr double kShapeError = 0.15;  // of the law, relative
constexpr double kLikeness = 0.25;    // errors of neighbouring rings are alike
constexpr double kSteepest = 6;       // b
constexpr double kSteepStep = 0.5;
constexpr double kUsualSteepness = 2.5;
constexpr double kSteepnessSpread = 2;

// Scatter of the power of rings that hold no detail.
double noise_of(const std::vector<Ring>& rings, double resolution) {
  double squares = 0;
  double count = 0;
  double last = 0;
  for (std::size_t k = 0; k < rings.size(); ++k) {
    const double power = rings[k].kept_power;
    if (k + 3 >= rings.size()) last = std::max(last, std::abs(power));
    if (rings[k].frequency <= kNoiseFrom * resolution || rings[k].frequency >= kFinest) continue;
    squares += power * power;
    ++count;
  }
  return count > 2 ? std::sqrt(squares / count) : last;
}

struct Sample {
  double frequency = 0;
  double power = 0;
  double weight = 0;
};

std::vector<Sample> samples_of(const std::vector<Ring>& rings, double resolution) {
  const double noise = kNoiseSpread * noise_of(rings, resolution);
  std::vector<Sample> out;
  for (const Ring& ring : rings) {
    if (ring.frequency <= std::max(kFrom * resolution, kCoarsest) || ring.frequency >= kFinest)
      continue;
    const double shape = kShapeError * std::max(ring.kept_power, 0.0);
    const double variance = noise * noise + shape * shape;
    if (variance > 0) out.push_back({ring.frequency, ring.kept_power, 1 / variance});
  }
  return out;
}

// Misfit of the best law with this cutoff and steepness.
double misfit(const std::vector<Sample>& samples, double cutoff, double steepness) {
  double cross = 0;
  double own = 0;
  double all = 0;
  for (const Sample& s : samples) {
    const double t = telescope_transfer(s.frequency / cutoff);
    const double law = t * t * std::pow(s.frequency / cutoff, -steepness);
    cross += s.weight * law * s.power;
    own += s.weight * law * law;
    all += s.weight * s.power * s.power;
  }
  cross = std::max(cross, 0.0);
  return own > 0 ? all - cross * cross / own : all;
}

double misfit(const std::vector<Sample>& samples, double cutoff) {
  double least = std::numeric_limits<double>::infinity();
  for (double b = 0; b <= kSteepest; b += kSteepStep) {
    const double unusual = (b - kUsualSteepness) / kSteepnessSpread;
    least = std::min(least, misfit(samples, cutoff, b) + unusual * unusual);
  }
  return least;
}

double square(double x) { return x * x; }

}  // namespace

std::vector<CutoffChoice> cutoff_choices(const std::vector<Ring>& rings, double resolution) {
  const std::vector<Sample> samples = samples_of(rings, resolution);
  const double lowest = resolution / kMostResolved;
  const double highest = std::max(std::min(resolution / kLeastResolved, kHighest), lowest);
  std::vector<CutoffChoice> out;
  for (int k = 0; k < kChoices; ++k) {
    const double cutoff = lowest * std::pow(highest / lowest, k / (kChoices - 1.0));
    const double over = std::min(std::log(kOftenResolved * cutoff / resolution), 0.0);
    out.push_back({cutoff, kLikeness * misfit(samples, cutoff) + square(over / kOftenResolvedLog) +
                               square(std::log(cutoff / kUsual) / kUsualLog)});
  }
  return out;
}

}  // namespace lull::finish
