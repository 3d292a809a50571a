#include "stack/keep_choice.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/assert.h"
#include "core/statistics.h"

namespace lull::stack {

namespace {

using Rings = std::vector<spectrum::RingSums>;

constexpr double kLogError = 0.1;  // of the logarithm of the transfer, as a share of it
constexpr double kLeastTransfer = 0.02;
constexpr double kLeastWeight = 0.25;  // where the halves correlate by 1/7
constexpr double kMostRatio = 3;       // of the transfers of two stacks
constexpr std::size_t kFirstRing = 1;  // the coarsest one holds shading
constexpr std::size_t kWorse = 2;      // stacks in a row

// Squared correlation of the mean of so many whole stacks with the scene (Rosenthal & Henderson
// 2003).
double wiener_weight(const spectrum::RingSums& ring, double pieces = 1) {
  const double norm = std::sqrt(ring.first * ring.second);
  if (!(norm > 0)) return 0;
  const double half = std::clamp(ring.cross / norm, 0.0, 1.0);
  return reliability_of_whole(pieces * half / (1 + (pieces - 1) * half));
}

}  // namespace

double ExpectedError::total() const { return std::hypot(noise, blur); }

KeepChoice::KeepChoice(Transfer first, double pieces) : first_(std::move(first)), pieces_(pieces) {}

void KeepChoice::add(Rings halves) {
  LULL_ASSERT(stacks_.empty() || stacks_.front().size() == halves.size());
  stacks_.push_back(std::move(halves));
  errors_ = expected_errors();
  const double last = errors_.back().total();
  if (last < errors_[best_].total() || last >= 1) best_ = stacks_.size() - 1;
}

// Beyond the frequencies at which both stacks have signal their ratio stays as it is.
std::vector<double> KeepChoice::transfer_of(std::size_t stack) const {
  const Rings& first = stacks_.front();
  const Rings& here = stacks_[stack];
  std::vector<double> transfer;
  transfer.reserve(here.size());
  double ratio = 1;
  for (std::size_t k = 0; k < here.size(); ++k) {
    if (k >= kFirstRing && std::min(wiener_weight(first[k]), wiener_weight(here[k])) > kLeastWeight)
      ratio = std::clamp(std::sqrt(here[k].cross / first[k].cross), 1 / kMostRatio, kMostRatio);
    transfer.push_back(std::clamp(first_(here[k].frequency) * ratio, kLeastTransfer, 1.0));
  }
  return transfer;
}

// Against the scene that the last stack shows, up to its resolution.
std::vector<ExpectedError> KeepChoice::expected_errors() const {
  const Rings& last = stacks_.back();
  std::vector<double> scene = transfer_of(stacks_.size() - 1);
  double whole = 0;
  bool seen = true;
  for (std::size_t k = 0; k < scene.size(); ++k) {
    seen = seen && (k < kFirstRing || wiener_weight(last[k]) > kLeastWeight);
    scene[k] = seen && k >= kFirstRing ? last[k].cross / (scene[k] * scene[k]) : 0;
    whole += scene[k];
  }
  std::vector<ExpectedError> out;
  out.reserve(stacks_.size());
  for (std::size_t i = 0; i < stacks_.size(); ++i) {
    const std::vector<double> transfer = transfer_of(i);
    double noise = 0;
    double blur = 0;
    for (std::size_t k = 0; k < scene.size(); ++k) {
      const double weight = wiener_weight(stacks_[i][k], pieces_);
      const double off = weight * kLogError * std::log(transfer[k]);
      noise += scene[k] * (1 - weight);
      blur += scene[k] * off * off;
    }
    out.push_back(whole > 0 ? ExpectedError{std::sqrt(noise / whole), std::sqrt(blur / whole)}
                            : ExpectedError{1, 0});
  }
  return out;
}

bool KeepChoice::settled() const { return best_ + kWorse < stacks_.size(); }

}  // namespace lull::stack
