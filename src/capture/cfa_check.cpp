#include "capture/cfa_check.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "core/statistics.h"

namespace lull::capture {

namespace {

// Common practice, no source: the greens of a sensor differ by less than 1%, red and blue of a
// gray scene from green by tens of percent.
constexpr double kAlike = 0.01;
constexpr double kDifferent = 0.03;
constexpr double kSigmas = 8;  // neighbours share detail, so their scatter is an underestimate
constexpr double kBrightShare = 0.3;
constexpr std::int64_t kFewest = 1000;
constexpr std::int64_t kEnoughPx = 100'000;

// Level that separates the bright pixels from the sky.
template <class T>
double bright_level(const SampleView& samples) {
  std::vector<T> some;
  const int step = 3 + 2 * (samples.height_px / 512);
  for (int y = 0; y < samples.height_px; y += step) {
    const T* row = samples.row<T>(y);
    for (int x = y % 2; x < samples.width_px; x += 5) some.push_back(row[x]);
  }
  const auto dark = static_cast<double>(lower_quantile(some, 0.05));
  return dark + kBrightShare * (static_cast<double>(lower_quantile(some, 0.99)) - dark);
}

}  // namespace

template <class T>
void CfaCheck::add_samples(const SampleView& samples) {
  const double level = bright_level<T>(samples);
  // Pairs of rows, spread over large frames.
  const int pairs_apart = 2 * static_cast<int>(1 + samples.size().area_px() / kEnoughPx);
  for (int y = 1; y + 1 < samples.height_px; y += y % 2 == 1 ? 1 : pairs_apart - 1) {
    const T* up = samples.row<T>(y - 1);
    const T* mid = samples.row<T>(y);
    const T* down = samples.row<T>(y + 1);
    for (int x = 1; x + 1 < samples.width_px; ++x) {
      const double corners = up[x - 1] + up[x + 1] + down[x - 1] + down[x + 1];
      const double sides = up[x] + down[x] + mid[x - 1] + mid[x + 1];
      const double around = (4.0 * mid[x] + 2 * sides + corners) / 16;
      if (around <= level || around <= 0) continue;
      const auto place = static_cast<std::size_t>(std::ptrdiff_t{2} * (y & 1) + (x & 1));
      across_[place].add((mid[x] - corners / 4) / around);
      beside_[place].add((mid[x] - sides / 4) / around);
    }
  }
}

void CfaCheck::add(const Frame& frame) {
  const SampleView& samples = frame.planes[0];
  if (std::min(samples.width_px, samples.height_px) < 8) return;
  samples.type == SampleType::u8 ? add_samples<std::uint8_t>(samples)
                                 : add_samples<std::uint16_t>(samples);
}

// A pixel that is brighter than its partners counts twice: once in its own difference, once in
// theirs. So half the difference of the two means is taken. The curvature of the scene is common to
// both and cancels.
CfaCheck::Difference CfaCheck::between(const Sum& one, const Sum& other) {
  if (std::min(one.count, other.count) < kFewest) return {};
  const auto mean = [](const Sum& s) { return s.sum / static_cast<double>(s.count); };
  const auto error = [&](const Sum& s) {
    const double m = mean(s);
    return std::max(s.squares / static_cast<double>(s.count) - m * m, 0.0) /
           static_cast<double>(s.count);
  };
  const double value = (mean(one) - mean(other)) / 2;
  return {std::abs(value), std::abs(value) > kSigmas * std::sqrt(error(one) + error(other)) / 2};
}

bool CfaCheck::Difference::stands_out() const { return certain && value > kDifferent; }

bool CfaCheck::Difference::is_nothing() const { return value < kAlike; }

std::string CfaCheck::warning(Cfa cfa) const {
  const Difference main_diagonal = between(across_[0], across_[3]);
  const Difference other_diagonal = between(across_[1], across_[2]);
  if (cfa != Cfa::none) {
    const bool greens_beside = cfa == Cfa::rggb || cfa == Cfa::bggr;
    const Difference& greens = greens_beside ? other_diagonal : main_diagonal;
    const Difference& others = greens_beside ? main_diagonal : other_diagonal;
    if (!greens.stands_out() || !others.is_nothing()) return {};
    return fmt::format(
        "this does not look like a {} mosaic: its green pixels differ by {:.0f}%, its red and blue "
        "ones are equal; try --cfa {}",
        cfa_name(cfa), 100 * greens.value, greens_beside ? "GRBG or GBRG" : "RGGB or BGGR");
  }
  const Difference greens_from_others = between(beside_[0], beside_[1]);
  std::string orders;
  if (main_diagonal.stands_out() && other_diagonal.is_nothing()) {
    orders = "RGGB or BGGR";
  } else if (other_diagonal.stands_out() && main_diagonal.is_nothing()) {
    orders = "GRBG or GBRG";
  } else if (greens_from_others.stands_out() && main_diagonal.is_nothing() &&
             other_diagonal.is_nothing()) {
    orders = "and the order that its maker names";
  }
  if (orders.empty()) return {};
  return fmt::format(
      "neighbouring pixels differ as under colour filters, but the file states mono; for a colour "
      "camera, give --cfa {}",
      orders);
}

}  // namespace lull::capture
