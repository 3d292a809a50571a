#include "calibrate/pair_noise.h"

#include <algorithm>
#include <cmath>

namespace lull::calibrate {

namespace {

constexpr int kTilePx = 32;
constexpr int kMostPairs = 16;
constexpr double kClipSigmas = 5;
constexpr int kFewestSamples = 64;
/// One sample in so many may be saturated: those are hot pixels, more is the light.
constexpr std::size_t kFewSaturated = 50;
constexpr double kQuantisation = 1.0 / 12;  // variance of rounding to whole steps
/// Read noise, in steps, under which rounding hides it. Common practice, no source.
constexpr double kHiddenNoise = 0.5;

/// One pixel of two frames.
struct Sample {
  double difference = 0;
  double level = 0;  ///< mean of both
};

/// The pixels of one tile that have one colour.
struct Tile {
  std::vector<Sample> samples;
  std::size_t saturated = 0;
};

/// The difference of two frames as it follows the level, and the variance about that.
struct Line {
  double difference = 0;  ///< means
  double level = 0;
  double slope = 0;
  double variance = 0;
  std::int64_t count = 0;

  [[nodiscard]] double residual(const Sample& sample) const {
    return sample.difference - difference - slope * (sample.level - level);
  }
};

/// Least squares over the samples within `reach` of an earlier line.
[[nodiscard]] Line fit_within(const std::vector<Sample>& samples, const Line& earlier,
                              double reach) {
  const auto counts = [&](const Sample& s) { return std::abs(earlier.residual(s)) <= reach; };
  Line line;
  for (const Sample& sample : samples) {
    if (!counts(sample)) continue;
    line.difference += sample.difference;
    line.level += sample.level;
    ++line.count;
  }
  if (line.count < 3) return line;
  line.difference /= static_cast<double>(line.count);
  line.level /= static_cast<double>(line.count);
  double spread = 0;
  double common = 0;
  for (const Sample& sample : samples) {
    if (!counts(sample)) continue;
    spread += (sample.level - line.level) * (sample.level - line.level);
    common += (sample.level - line.level) * (sample.difference - line.difference);
  }
  line.slope = spread > 0 ? common / spread : 0;
  double squares = 0;
  for (const Sample& sample : samples) {
    if (counts(sample)) squares += line.residual(sample) * line.residual(sample);
  }
  line.variance = squares / static_cast<double>(line.count - 2);
  return line;
}

/// Twice clipped: a hit inflates the first sigma, so that lesser ones hide behind it. The first
/// line is level, since a hit would turn it.
[[nodiscard]] Line clipped_line(const std::vector<Sample>& samples) {
  Line line = fit_within(samples, {}, 1e30);
  line.slope = 0;
  for (int pass = 0; pass < 2; ++pass) {
    line = fit_within(samples, line, std::max(kClipSigmas * std::sqrt(line.variance), 1.0));
  }
  return line;
}

template <class T>
void gather(SampleView first, SampleView second, const Box& box, int step, double saturated_from,
            Tile& tile) {
  tile.samples.clear();
  tile.saturated = 0;
  for (int y = box.y0; y < box.y1; y += step) {
    const T* one = first.row<T>(y);
    const T* other = second.row<T>(y);
    for (int x = box.x0; x < box.x1; x += step) {
      const double a = one[x];
      const double b = other[x];
      if (std::max(a, b) >= saturated_from) {
        ++tile.saturated;
        continue;
      }
      tile.samples.push_back({a - b, (a + b) / 2});
    }
  }
}

template <class T>
[[nodiscard]] PairNoise noise_of(SampleView first, SampleView second, int step,
                                 double saturated_from) {
  PairNoise noise;
  Tile tile;
  const int side = kTilePx * step;
  for (int y = 0; y < first.height_px; y += side) {
    for (int x = 0; x < first.width_px; x += side) {
      for (int place = 0; place < step * step; ++place) {
        const Box box = {x + place % step, y + place / step, std::min(x + side, first.width_px),
                         std::min(y + side, first.height_px)};
        gather<T>(first, second, box, step, saturated_from, tile);
        const auto count = tile.samples.size();
        if (tile.saturated * kFewSaturated > count || count < kFewestSamples) continue;
        const Line found = clipped_line(tile.samples);
        noise.add({found.level, found.variance / 2, found.count});
      }
    }
  }
  return noise;
}

[[nodiscard]] PairNoise in_sensor_units(PairNoise noise, const capture::CaptureInfo& info) {
  const double unit = info.bits.high_aligned ? std::exp2(info.bits.stored - info.bits.used) : 1;
  noise.mean_adu /= unit;
  noise.variance_adu2 /= unit * unit;
  return noise;
}

}  // namespace

void PairNoise::add(const PairNoise& other) {
  if (other.samples == 0) return;
  const double share =
      static_cast<double>(other.samples) / static_cast<double>(samples + other.samples);
  mean_adu += share * (other.mean_adu - mean_adu);
  variance_adu2 += share * (other.variance_adu2 - variance_adu2);
  samples += other.samples;
}

PairNoise pair_noise(SampleView first, SampleView second, int step, double saturated_from) {
  LULL_ASSERT(first.size() == second.size() && first.type == second.type);
  return first.type == SampleType::u8
             ? noise_of<std::uint8_t>(first, second, step, saturated_from)
             : noise_of<std::uint16_t>(first, second, step, saturated_from);
}

std::optional<PairNoise> pair_noise(capture::Capture& source, const Progress& progress) {
  const capture::CaptureInfo& info = source.info();
  const int step = info.colour == capture::Colour::cfa ? 2 : 1;
  PairNoise noise;
  source.rewind();
  for (int pair = 0; pair < kMostPairs; ++pair) {
    progress.step("measuring noise", pair, kMostPairs);
    const auto first = source.next();
    const auto second = source.next();
    if (!second.ok() && second.reason() == Reject::past_the_end) break;
    if (!first.ok() || !second.ok()) continue;
    const std::size_t planes = info.colour == capture::Colour::rgb ? 3 : 1;
    for (std::size_t p = 0; p < planes; ++p) {
      noise.add(
          pair_noise(first.value().planes[p], second.value().planes[p], step, info.full_scale));
    }
  }
  if (noise.samples == 0) return std::nullopt;
  return in_sensor_units(noise, info);
}

std::optional<PhotonTransfer> photon_transfer(const PairNoise& flat,
                                              const std::optional<PairNoise>& dark,
                                              double dark_level_adu) {
  const double floor = dark ? std::max(dark->variance_adu2, kQuantisation) : kQuantisation;
  const double signal = flat.mean_adu - dark_level_adu;
  const double shot = flat.variance_adu2 - floor;
  if (signal <= 0 || shot <= 0) return std::nullopt;
  PhotonTransfer found;
  found.gain_e_per_adu = signal / shot;
  // Var(s^2) = 2 s^4 / n of a Gaussian's sample variance.
  found.gain_sigma = found.gain_e_per_adu * flat.variance_adu2 / shot *
                     std::sqrt(2 / static_cast<double>(std::max<std::int64_t>(1, flat.samples)));
  if (dark && dark->variance_adu2 > kHiddenNoise * kHiddenNoise) {
    found.read_noise_e = found.gain_e_per_adu * std::sqrt(dark->variance_adu2 - kQuantisation);
  }
  return found;
}

}  // namespace lull::calibrate
