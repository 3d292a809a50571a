#include "quality/combined.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/statistics.h"
#include "quality/agreement.h"

namespace lull::quality {

namespace {

constexpr std::ptrdiff_t kFramesAround = 50;  // before and after
constexpr double kFinestError = 0.02;         // square, of the swing of the finest measure
constexpr double kErrorStep = 3;              // from a measure to the next coarser one
constexpr double kNoiseError = 0.25;          // of the energy of the noise, over the swing
constexpr double kDisagreement = 11;          // of (1 - r^2)^3
constexpr double kLeastWitness = 0.1;         // share of a measure that bounds the others
constexpr double kMostAhead = 3;              // swings, of a measure before the lowest of these

}  // namespace

std::vector<double> usual_noise(const std::vector<FrameRecord>& records) {
  std::vector<double> out;
  std::vector<double> usable;
  std::vector<std::size_t> at;
  for (const FrameRecord& record : records) {
    out.push_back(record.noise);
    if (!record.usable()) continue;
    usable.push_back(record.noise);
    at.push_back(out.size() - 1);
  }
  const auto count = static_cast<std::ptrdiff_t>(usable.size());
  for (std::ptrdiff_t i = 0; i < count; ++i) {
    const auto first = usable.begin() + std::max<std::ptrdiff_t>(i - kFramesAround, 0);
    const auto last = usable.begin() + std::min(i + kFramesAround + 1, count);
    out[at[static_cast<std::size_t>(i)]] = median(std::vector<double>(first, last));
  }
  return out;
}

std::string shares_text(const Shares& shares) {
  std::string text;
  for (std::size_t measure = 0; measure < shares.size(); ++measure) {
    text += fmt::format("{}{} {:.0f}%", text.empty() ? "" : ", ", metric_name(kCombined[measure]),
                        100 * shares[measure]);
  }
  return text;
}

CombinedSharpness::Band CombinedSharpness::band_of(const std::vector<const FrameEnergies*>& frames,
                                                   std::size_t measure, double gain) {
  std::vector<double> noise;
  std::vector<double> values;
  noise.reserve(frames.size());
  values.reserve(frames.size());
  for (const FrameEnergies* frame : frames) {
    noise.push_back(frame->of_noise(gain));
    values.push_back(frame->total[measure] - noise.back());
  }
  Band band{gain, median(values), 0, median(std::move(noise)), values};
  for (double& value : values) value = std::abs(value - band.median);
  band.swing = kMadToSigma * median(std::move(values));
  return band;
}

CombinedSharpness::CombinedSharpness(const std::vector<const FrameEnergies*>& frames,
                                     const Gains& gains, Metric as)
    : unit_(static_cast<std::size_t>(std::find(kCombined.begin(), kCombined.end(), as) -
                                     kCombined.begin())) {
  if (!frames.empty()) {
    for (std::size_t measure = 0; measure < bands_.size(); ++measure)
      bands_[measure] = band_of(frames, measure, gains[measure]);
  }
  double own = kFinestError;
  double sum = 0;
  for (std::size_t measure = 0; measure < bands_.size(); ++measure) {
    const Band& band = bands_[measure];
    if (band.swing > 0) {
      const double r = std::max(spearman(band.values, bands_.back().values), 0.0);
      shares_[measure] = 1 / (own + std::pow(kNoiseError * band.noise / band.swing, 4) +
                              kDisagreement * std::pow(1 - r * r, 3));
    }
    sum += shares_[measure];
    own *= kErrorStep;
  }
  if (sum > 0) {
    for (double& share : shares_) share /= sum;
  } else {
    shares_[unit_] = 1;  // frames that are all alike
  }
}

// What is sharp is so at every scale. Where one measure alone sees far more, it is an edge of
// something else.
double CombinedSharpness::operator()(const FrameEnergies& frame) const {
  std::array<double, kCombined.size()> swings{};
  double lowest = std::numeric_limits<double>::infinity();
  for (std::size_t measure = 0; measure < bands_.size(); ++measure) {
    const Band& band = bands_[measure];
    if (!(band.swing > 0)) continue;
    const double above = frame.total[measure] - frame.of_noise(band.gain);
    swings[measure] = (above - band.median) / band.swing;
    if (shares_[measure] > kLeastWitness) lowest = std::min(lowest, swings[measure]);
  }
  double sum = 0;
  for (std::size_t measure = 0; measure < bands_.size(); ++measure)
    sum += shares_[measure] * std::min(swings[measure], lowest + kMostAhead);
  return bands_[unit_].median + bands_[unit_].swing * sum;
}

}  // namespace lull::quality
