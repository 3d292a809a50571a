#include "mosaic/match_blurs.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>
#include <limits>
#include <opencv2/core.hpp>

#include "core/parallel.h"
#include "spectrum/fft.h"

namespace lull::mosaic {

namespace {

constexpr int kWindowPx = 64;
constexpr int kSpacingPx = 56;
constexpr std::size_t kRings = 32;    // up to 0.5 cycles/px
constexpr double kLeastSignal = 0.5;  // of the noise: below, a ring says nothing
constexpr double kMostGain = 3;
constexpr double kUnchanged = 0.02;  // gains all within so much of 1 are left out
constexpr double kPrior = 1e-3;      // weight of no difference, against a ring's 0 to 1
constexpr double kFloorFrom = 0.44;  // cycles/px: beyond lies noise, where it is not known
constexpr double kTaper = 0.5;

using Rings = std::array<double, kRings>;

struct Power {
  Rings signal{};  ///< of the light, noise taken off
  Rings noise{};
};

// Of the sums over one overlap.
struct Compared {
  PanelIndex first = 0;
  PanelIndex second = 0;
  Power a;
  Power b;
};

// Power by rings of a panel's patches, light and noise.
class PowerSum {
 public:
  PowerSum() : window_(spectrum::tukey_window(kWindowPx, kTaper)), fft_(kSize), patch_(kSize) {
    const spectrum::Spectrum bins(kSize);
    for (int r = 0; r < bins.rows(); ++r) {
      for (int c = 0; c < bins.columns(); ++c)
        ring_.push_back(ring_of(std::hypot(bins.frequency_x(c), bins.frequency_y(r))));
    }
  }

  /// What another one holds besides.
  void add(const PowerSum& other) {
    for (std::size_t i = 0; i < kRings; ++i) {
      sums_.signal[i] += other.sums_.signal[i];
      sums_.noise[i] += other.sums_.noise[i];
      counts_[i] += other.counts_[i];
    }
  }

  void add(const Readable& panel, const PanelMap& map, Displacement place) {
    read_patch(panel.luminance, map, place, patch_);
    add_patch(sums_.signal);
    if (panel.noise.empty()) return;
    read_patch(panel.noise.front(), map, place, patch_);
    add_patch(sums_.noise);
  }

  /// Noise taken off. Where it is not known, the finest rings hold nothing else.
  [[nodiscard]] Power power(bool noise_is_known) const {
    Power out = sums_;
    if (!noise_is_known) {
      double floor = std::numeric_limits<double>::infinity();
      for (std::size_t i = 0; i < kRings; ++i) {
        if (counts_[i] > 0 && frequency_of(i) >= kFloorFrom)
          floor = std::min(floor, sums_.signal[i] / counts_[i]);
      }
      for (std::size_t i = 0; i < kRings; ++i) out.noise[i] = floor * counts_[i];
    }
    for (std::size_t i = 0; i < kRings; ++i) out.signal[i] -= out.noise[i];
    return out;
  }

  [[nodiscard]] static double frequency_of(std::size_t ring) {
    return (static_cast<double>(ring) + 0.5) / (2.0 * kRings);
  }

 private:
  static constexpr Size kSize{kWindowPx, kWindowPx};
  static constexpr std::uint8_t kNoRing = kRings;

  static std::uint8_t ring_of(double frequency) {
    const double ring = frequency * 2 * kRings;
    return frequency == 0 || ring >= kRings ? kNoRing : static_cast<std::uint8_t>(ring);
  }

  void add_patch(Rings& to) {
    const spectrum::Spectrum bins =
        spectrum::windowed_spectrum(patch_.view(), window_, window_, fft_);
    const bool counts = &to == &sums_.signal;
    auto ring_here = ring_.begin();
    for (int r = 0; r < bins.rows(); ++r) {
      for (int c = 0; c < bins.columns(); ++c) {
        const std::size_t ring = *ring_here++;
        if (ring == kNoRing) continue;
        to[ring] += bins.multiplicity(c) * static_cast<double>(std::norm(bins.row(r)[c]));
        if (counts) counts_[ring] += bins.multiplicity(c);
      }
    }
  }

  std::vector<float> window_;
  std::vector<std::uint8_t> ring_;  // of each bin
  spectrum::Fft fft_;
  Plane patch_;
  Power sums_;
  Rings counts_{};
};

Compared compare(const Link& link, const std::vector<PanelMap>& maps, const Readable& first,
                 const Readable& second) {
  const PanelMap& a = maps[link.first];
  const PanelMap& b = maps[link.second];
  const std::vector<SharedPlace> places = shared_places(a, b, kWindowPx, kSpacingPx);
  constexpr std::size_t kBlock = 32;
  std::vector<PowerSum> firsts((places.size() + kBlock - 1) / kBlock);
  std::vector<PowerSum> seconds(firsts.size());
  parallel_for(std::ssize(firsts), [&](std::int64_t block) {
    const auto at = static_cast<std::size_t>(block);
    for (std::size_t i = at * kBlock; i < std::min((at + 1) * kBlock, places.size()); ++i) {
      firsts[at].add(first, a, places[i].mosaic);
      seconds[at].add(second, b, places[i].mosaic);
    }
  });
  PowerSum of_first;
  PowerSum of_second;
  for (const PowerSum& some : firsts) of_first.add(some);
  for (const PowerSum& some : seconds) of_second.add(some);
  return {link.first, link.second, of_first.power(!first.noise.empty()),
          of_second.power(!second.noise.empty())};
}

double certainty(double signal, double noise) {
  return signal <= kLeastSignal * noise ? 0 : signal / (signal + noise);
}

// Each panel's logarithm of amplitude in one ring, their mean 0.
std::vector<double> levels_of(const std::vector<Compared>& all, std::size_t ring,
                              const std::vector<int>& slot, std::size_t panels) {
  const auto count = static_cast<int>(panels);
  cv::Mat a = cv::Mat::zeros(count, count, CV_64F);
  cv::Mat b = cv::Mat::zeros(count, 1, CV_64F);
  for (int i = 0; i < count; ++i) a.at<double>(i, i) = kPrior;
  for (const Compared& pair : all) {
    const double weight = certainty(pair.a.signal[ring], pair.a.noise[ring]) *
                          certainty(pair.b.signal[ring], pair.b.noise[ring]);
    if (weight <= 0) continue;
    const double ratio = 0.5 * std::log(pair.a.signal[ring] / pair.b.signal[ring]);
    const int i = slot[pair.first];
    const int j = slot[pair.second];
    a.at<double>(i, i) += weight;
    a.at<double>(j, j) += weight;
    a.at<double>(i, j) -= weight;
    a.at<double>(j, i) -= weight;
    b.at<double>(i) += weight * ratio;
    b.at<double>(j) -= weight * ratio;
  }
  cv::Mat x;
  if (!cv::solve(a, b, x, cv::DECOMP_CHOLESKY)) return std::vector<double>(panels, 0.0);
  return {x.begin<double>(), x.end<double>()};
}

// Over all overlaps of a panel: C^2 of each ring.
Rings certainties_of(const std::vector<Compared>& all, PanelIndex panel) {
  Rings signal{};
  Rings noise{};
  for (const Compared& pair : all) {
    const Power* own = pair.first == panel ? &pair.a : pair.second == panel ? &pair.b : nullptr;
    if (own == nullptr) continue;
    for (std::size_t i = 0; i < kRings; ++i) {
      signal[i] += std::max(0.0, own->signal[i]);
      noise[i] += own->noise[i];
    }
  }
  Rings out{};
  for (std::size_t i = 0; i < kRings; ++i) out[i] = certainty(signal[i], noise[i]);
  return out;
}

// From 1 at frequency 0 to the gain of the first ring, as the blur of air begins (the power 5/3 of
// Fried 1966, J. Opt. Soc. Am. 56, 1372). A straight line would have a kink at 0, by which the
// light of a disc reaches far out over its sky.
void rise_to(double frequency, double gain, std::vector<spectrum::FilterPoint>& out) {
  constexpr int kSteps = 8;
  for (int i = 0; i < kSteps; ++i) {
    const double t = static_cast<double>(i) / kSteps;
    out.push_back({t * frequency, std::pow(gain, std::pow(t, 5.0 / 3))});
  }
}

// The lowest ring holds the brightness of all, which is matched elsewhere; a ring without certainty
// goes on as the one before.
std::vector<spectrum::FilterPoint> gains_of(const Rings& levels, const Rings& certain) {
  std::vector<spectrum::FilterPoint> out;
  bool changes = false;
  double before = 1;
  for (std::size_t i = 1; i < kRings; ++i) {
    double gain = before;
    if (certain[i] > 0) {
      const double wanted = std::exp(levels[0] - levels[i]);
      gain = wanted > 1 ? 1 + certain[i] * (wanted - 1) : wanted;
      gain = std::clamp(gain, 1 / kMostGain, kMostGain);
    }
    if (i == 1) rise_to(PowerSum::frequency_of(i), gain, out);
    changes = changes || std::abs(gain - 1) > kUnchanged;
    out.push_back({PowerSum::frequency_of(i), gain});
    before = gain;
  }
  if (!changes) return {};
  return out;
}

}  // namespace

std::vector<std::vector<spectrum::FilterPoint>> gains_to_one_blur(
    const std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group,
    const std::vector<Link>& links, Shelf<Readable>& shelf, const Progress& progress) {
  std::vector<Compared> all(links.size());
  for (std::size_t i = 0; i < links.size(); ++i) {
    progress.step("comparing blurs", static_cast<std::int64_t>(i), std::ssize(links));
    const auto first = shelf.take(links[i].first);
    const auto second = shelf.take(links[i].second);
    all[i] = compare(links[i], maps, *first, *second);
  }
  std::vector<int> slot(maps.size(), 0);
  for (std::size_t i = 0; i < group.size(); ++i) slot[group[i]] = static_cast<int>(i);
  std::vector<Rings> levels(group.size());
  for (std::size_t ring = 0; ring < kRings; ++ring) {
    const std::vector<double> of_ring = levels_of(all, ring, slot, group.size());
    for (std::size_t i = 0; i < group.size(); ++i) levels[i][ring] = of_ring[i];
  }
  std::vector<std::vector<spectrum::FilterPoint>> out(maps.size());
  for (std::size_t i = 0; i < group.size(); ++i)
    out[group[i]] = gains_of(levels[i], certainties_of(all, group[i]));
  return out;
}

}  // namespace lull::mosaic
