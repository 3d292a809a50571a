#include "finish/power_law.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "finish/telescope.h"

namespace lull::finish {

namespace {

using Ring = spectrum::RatioRing;

constexpr int kChoices = 30;
constexpr double kMostResolved = 0.98;      // of the cutoff
constexpr double kOftenResolved = 0.9;      // of the cutoff: more is unlikely
constexpr double kOftenResolvedLog = 0.08;  // standard deviation of its logarithm, above
constexpr double kLeastResolved = 0.35;
constexpr double kHighest = 0.6;  // cycles/px
// A pixel samples lambda over the focal ratio 2 to 5 times (common practice, no source).
constexpr double kPriorCutoff = 0.33;
constexpr double kPriorCutoffLog = 0.28;  // standard deviation of its logarithm
// Where detail ends with the pixels, the cutoff is anywhere beyond.
constexpr double kEndOfPixels = 0.45;  // cycles/px
constexpr double kPriorCutoffBeyond = 0.75;
constexpr double kHighestBeyond = 1.2;
constexpr double kFrom = 0.35;  // of the resolution
constexpr double kCoarsest = 0.05;
constexpr double kFinest = 0.49;
constexpr double kNoiseFrom = 1.25;  // of the resolution: rings without detail
constexpr double kNoiseSpread = 1.5;
constexpr double kShapeError = 0.15;  // of the law, relative
constexpr double kLikeness = 0.25;    // errors of neighbouring rings are correlated
constexpr double kSteepStep = 0.5;    // of b, from 0
constexpr int kSlopes = 13;
constexpr double kPriorSteepness = 2.5;
constexpr double kPriorSteepnessSpread = 2;

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

double square(double x) { return x * x; }

// Does detail go on to where the pixels end it? A mosaic's luminance is smoothed, so it is left
// out.
bool ended_by_pixels(const std::vector<Ring>& rings, double resolution) {
  return resolution > kEndOfPixels && std::any_of(rings.begin(), rings.end(), [](const Ring& ring) {
           return ring.frequency > kEndOfPixels && ring.smoothing == 1;
         });
}

}  // namespace

PowerLaw::PowerLaw(const std::vector<Ring>& rings, double resolution)
    : resolution_(resolution), beyond_pixels_(ended_by_pixels(rings, resolution)) {
  const double noise = kNoiseSpread * noise_of(rings, resolution);
  for (const Ring& ring : rings) {
    if (ring.frequency <= std::max(kFrom * resolution, kCoarsest) || ring.frequency >= kFinest)
      continue;
    const double shape = kShapeError * std::max(ring.kept_power, 0.0);
    const double variance = noise * noise + shape * shape;
    if (variance > 0)
      samples_.push_back({ring.frequency, ring.kept_power, 1 / variance, ring.smoothing < 1});
  }
  for (const Sample& s : samples_) weighted_squares_ += s.weight * s.power * s.power;
  for (int n = 0; n < kSlopes; ++n) {
    std::vector<double> slope(samples_.size());
    for (std::size_t i = 0; i < slope.size(); ++i)
      slope[i] = std::pow(samples_[i].frequency / resolution, -kSteepStep * n);
    slopes_.push_back(std::move(slope));
  }
}

std::vector<double> PowerLaw::cutoffs() const {
  const double lowest = resolution_ / kMostResolved;
  const double highest = std::max(
      std::min(resolution_ / kLeastResolved, beyond_pixels_ ? kHighestBeyond : kHighest), lowest);
  std::vector<double> out(kChoices);
  for (int k = 0; k < kChoices; ++k)
    out[static_cast<std::size_t>(k)] = lowest * std::pow(highest / lowest, k / (kChoices - 1.0));
  return out;
}

std::vector<double> PowerLaw::passed_by_telescope(double cutoff) const {
  std::vector<double> passed(samples_.size());
  for (std::size_t i = 0; i < passed.size(); ++i)
    passed[i] = square(telescope_transfer(samples_[i].frequency / cutoff));
  return passed;
}

// Detail that is smoothed has no air of its own.
std::vector<double> PowerLaw::passed_by_halo(double halo) const {
  std::vector<double> passed(samples_.size());
  for (std::size_t i = 0; i < passed.size(); ++i)
    passed[i] = samples_[i].smoothed ? 1 : halo_transfer(samples_[i].frequency, halo);
  return passed;
}

// Of the best law with this blur, over all exponents.
double PowerLaw::misfit(const Blur& blur, const std::vector<double>& telescope,
                        const std::vector<double>& halo) const {
  std::vector<double> passed(samples_.size());
  for (std::size_t i = 0; i < passed.size(); ++i) {
    const double air = blur.transfer_with(halo[i]);
    passed[i] = telescope[i] * air * air;
  }
  const double all = weighted_squares_;
  double least = std::numeric_limits<double>::infinity();
  for (std::size_t n = 0; n < slopes_.size(); ++n) {
    double cross = 0;
    double own = 0;
    for (std::size_t i = 0; i < samples_.size(); ++i) {
      const double law = passed[i] * slopes_[n][i];
      cross += samples_[i].weight * law * samples_[i].power;
      own += samples_[i].weight * law * law;
    }
    cross = std::max(cross, 0.0);
    const double b = kSteepStep * static_cast<double>(n);
    least = std::min(least, (own > 0 ? all - cross * cross / own : all) +
                                square((b - kPriorSteepness) / kPriorSteepnessSpread));
  }
  return least;
}

double PowerLaw::prior_deviance(double cutoff) const {
  const double expected = beyond_pixels_ ? kPriorCutoffBeyond : kPriorCutoff;
  const double over = std::min(std::log(kOftenResolved * cutoff / resolution_), 0.0);
  return square(over / kOftenResolvedLog) + square(std::log(cutoff / expected) / kPriorCutoffLog);
}

double PowerLaw::deviance(const Blur& blur, const std::vector<double>& telescope,
                          const std::vector<double>& halo) const {
  return kLikeness * misfit(blur, telescope, halo) + prior_deviance(blur.cutoff);
}

}  // namespace lull::finish
