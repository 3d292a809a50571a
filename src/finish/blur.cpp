#include "finish/blur.h"

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <iterator>
#include <limits>
#include <optional>

#include "core/parallel.h"
#include "finish/power_law.h"
#include "finish/power_ratio.h"

namespace lull::finish {

namespace {

using Ring = spectrum::RatioRing;

constexpr double kHaloGrowth = 0.48;  // of the cutoff, with the core
constexpr std::size_t kFewestRings = 3;
constexpr double kPriorCore = 0.35;     // where the frames are too noisy
constexpr double kResolvedShare = 0.9;  // of the cutoff, likewise
constexpr int kSteps = 32;
constexpr double kLeastCore = 0.03;
constexpr double kMostCore = 0.99;
constexpr double kLeastHalo = 0.15;  // of the cutoff
constexpr double kMostHalo = 0.75;

// What is known of a kind of scene before its capture is looked at.
struct Knowledge {
  double halo_share = 0;       // of the cutoff, without a core
  double halo_log = 0;         // standard deviation of its logarithm
  double coherence_share = 0;  // see PowerRatio
};

constexpr Knowledge kAnyScene = {0.18, 0.2, 0.7};
constexpr Knowledge kDisc = {0.28, 0.4, 0.3};

double between(double low, double high, int step) {
  return low * std::pow(high / low, step / (kSteps - 1.0));
}

double core_at(int step) { return between(kLeastCore, kMostCore, step); }

double halo_at(int step) { return between(kLeastHalo, kMostHalo, step); }

double expected_halo(const Knowledge& known, double core) {
  return known.halo_share + kHaloGrowth * core;
}

// Of the prior of the halo and of `other`, by halo, then core.
std::vector<double> other_deviances(const Knowledge& known, const Deviance& other) {
  std::vector<double> out;
  for (int j = 0; j < kSteps; ++j) {
    for (int i = 0; i < kSteps; ++i) {
      const double off = std::log(halo_at(j) / expected_halo(known, core_at(i))) / known.halo_log;
      out.push_back(off * off + (other ? other(core_at(i), halo_at(j)) : 0));
    }
  }
  return out;
}

struct Candidate {
  Blur blur;
  double deviance = 0;
};

std::vector<Candidate> candidates_at(double cutoff, const PowerRatio& ratio, const PowerLaw& power,
                                     const std::vector<double>& others) {
  std::vector<Candidate> out;
  const auto at_cutoff = ratio.at(cutoff);
  if (!at_cutoff) return out;
  const std::vector<double> telescope = power.passed_by_telescope(cutoff);
  for (int j = 0; j < kSteps; ++j) {
    const double halo = halo_at(j) * cutoff;
    const auto of_ratio = at_cutoff->passed_by(halo);
    const auto of_power = power.passed_by_halo(halo);
    for (int i = 0; i < kSteps; ++i) {
      const Blur blur{core_at(i), halo, cutoff};
      const auto deviance = at_cutoff->deviance(blur, of_ratio);
      if (!deviance) continue;
      out.push_back({blur, *deviance + power.deviance(blur, telescope, of_power) +
                               others[static_cast<std::size_t>(j * kSteps + i)]});
    }
  }
  return out;
}

std::vector<Candidate> candidates(const PowerRatio& ratio, const PowerLaw& power,
                                  const std::vector<double>& others) {
  const std::vector<double> cutoffs = power.cutoffs();
  std::vector<std::vector<Candidate>> found(cutoffs.size());
  parallel_for(std::ssize(cutoffs), [&](std::int64_t k) {
    const auto at = static_cast<std::size_t>(k);
    found[at] = candidates_at(cutoffs[at], ratio, power, others);
  });
  std::vector<Candidate> out;
  for (const auto& some : found) out.insert(out.end(), some.begin(), some.end());
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

Blur mean_of(const Blur& a, const Blur& b) {
  return {std::sqrt(a.core * b.core), std::sqrt(a.halo * b.halo), std::sqrt(a.cutoff * b.cutoff)};
}

// None where no frames of the set tell it.
std::optional<Blur> blur_by(const std::vector<Ring>& rings, double resolution, FrameSet frames,
                            const Knowledge& known, const Deviance& other) {
  if (rings.size() < kFewestRings || !(resolution > 0)) return std::nullopt;
  const PowerRatio ratio(rings, resolution, frames, known.coherence_share);
  const auto all = candidates(ratio, PowerLaw(rings, resolution), other_deviances(known, other));
  if (all.empty()) return std::nullopt;
  return mean_of(all);
}

Blur blur_by_kept(const std::vector<Ring>& rings, double resolution, const Knowledge& known,
                  const Deviance& other) {
  const double cutoff = resolution / kResolvedShare;
  return blur_by(rings, resolution, FrameSet::kept, known, other)
      .value_or(Blur{kPriorCore, expected_halo(kAnyScene, kPriorCore) * cutoff, cutoff});
}

}  // namespace

Blur blur_of_stack(const std::vector<Ring>& rings, double resolution) {
  return blur_by_kept(rings, resolution, kAnyScene, {});
}

Blur blur_of_disc(const std::vector<Ring>& rings, double resolution, const Deviance& sky) {
  return blur_by_kept(rings, resolution, kDisc, sky);
}

Blur blur_of_field(const std::vector<Ring>& rings, double resolution) {
  const Blur by_kept = blur_of_stack(rings, resolution);
  const auto by_capture = blur_by(rings, resolution, FrameSet::of_capture, kAnyScene, {});
  return by_capture ? mean_of(by_kept, *by_capture) : by_kept;
}

}  // namespace lull::finish
