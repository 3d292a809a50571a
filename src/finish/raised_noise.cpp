#include "finish/raised_noise.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>
#include <variant>

#include "core/parallel.h"
#include "finish/atrous.h"

namespace lull::finish {

namespace {

constexpr int kCellPx = RaisedNoise::kCellPx;
constexpr int kTilePx = 64 * kCellPx;
constexpr int kMarginPx = 128;    // twice the widest tap of five planes, and more
constexpr int kFrequencies = 64;  // along an axis, to integrate a gain over a plane's band

// To be told of: noise of half the amplitude of the detail. Common practice, no source.
constexpr double kLeastTimes = 1.5;
constexpr double kNoisyShare = 0.2;  // of the power of both

// Cells around one whose mean is taken, by plane: as PreparedDetail does, over some features.
constexpr std::array<int, 5> kCellsAround = {1, 1, 1, 2, 4};

// Mean of a gain, and of its square, over what a wavelet plane passes of a spectrum.
struct MeanGain {
  double weight = 0;
  double gain = 0;
  double square = 0;

  void add(double power, double one) {
    weight += power;
    gain += power * one;
    square += power * one * one;
  }

  // Power after, of unit power before, where a plane w becomes w + (v - w) mixed.
  [[nodiscard]] double power(double mixed) const {
    if (weight <= 0) return 1;
    return 1 + 2 * mixed * (gain / weight - 1) + mixed * mixed * ((square - 2 * gain) / weight + 1);
  }
};

// What a filter does in a wavelet plane to white noise, and to detail with the mean spectrum that
// the half stacks tell.
struct Band {
  MeanGain noise;
  MeanGain detail;
};

// Response of [1 4 6 4 1] / 16 with taps 2^j apart.
double smoothing(double frequency, int j) {
  return std::pow(std::cos(std::numbers::pi * std::ldexp(frequency, j)), 4);
}

// Power of the detail over that of the noise: F / (1 - F), up to a factor.
double detail_over_noise(const spectrum::FrcCurve& frc, double frequency) {
  if (frc.rings.empty()) return 0;
  const auto next = std::find_if(frc.rings.begin(), frc.rings.end(),
                                 [&](const auto& ring) { return ring.frequency >= frequency; });
  const auto& ring = next == frc.rings.end() ? frc.rings.back() : *next;
  const double agreed = std::clamp(ring.correlation, 0.0, 0.999999);
  return agreed / (1 - agreed);
}

Band band_of(int plane, const std::vector<spectrum::FilterPoint>& gains,
             const spectrum::FrcCurve& frc) {
  Band band;
  for (int iy = 0; iy < kFrequencies; ++iy) {
    for (int ix = 0; ix < kFrequencies; ++ix) {
      const double fx = (ix + 0.5) / (2 * kFrequencies);
      const double fy = (iy + 0.5) / (2 * kFrequencies);
      double passed = 1 - smoothing(fx, plane) * smoothing(fy, plane);
      for (int j = 0; j < plane; ++j) passed *= smoothing(fx, j) * smoothing(fy, j);
      const double frequency = std::hypot(fx, fy);
      const double gain = std::max(1.0, spectrum::gain_at(gains, frequency));
      band.noise.add(passed * passed, gain);
      band.detail.add(passed * passed * detail_over_noise(frc, frequency), gain);
    }
  }
  return band;
}

// Of white noise in a plane, mean square.
float white_power(int plane, double sigma) {
  return static_cast<float>(sigma * sigma * band_of(plane, {{0, 1}}, {}).noise.weight /
                            (kFrequencies * kFrequencies));
}

// Mean squares over the cells of `inside`, written to theirs.
void add_cells(PlaneView plane, const Box& inside, int columns, int first_column, int first_row,
               std::vector<float>& to) {
  for (int y0 = inside.y0; y0 < inside.y1; y0 += kCellPx) {
    for (int x0 = inside.x0; x0 < inside.x1; x0 += kCellPx) {
      const Box cell = Box{x0, y0, x0 + kCellPx, y0 + kCellPx}.intersection(inside);
      double sum = 0;
      for (int y = cell.y0; y < cell.y1; ++y) {
        for (int x = cell.x0; x < cell.x1; ++x)
          sum += static_cast<double>(plane.row(y)[x]) * static_cast<double>(plane.row(y)[x]);
      }
      const int row = first_row + (y0 - inside.y0) / kCellPx;
      const int column = first_column + (x0 - inside.x0) / kCellPx;
      to[static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
         static_cast<std::size_t>(column)] =
          static_cast<float>(sum / (static_cast<double>(cell.width_px()) * cell.height_px()));
    }
  }
}

std::vector<float> smoothed(const std::vector<float>& cells, int columns, int rows, int radius) {
  std::vector<float> out(cells.size());
  const auto place = [&](int row, int column) {
    return static_cast<std::size_t>(row) * static_cast<std::size_t>(columns) +
           static_cast<std::size_t>(column);
  };
  for (int row = 0; row < rows; ++row) {
    for (int column = 0; column < columns; ++column) {
      const Box near =
          Box{column - radius, row - radius, column + radius + 1, row + radius + 1}.intersection(
              {0, 0, columns, rows});
      double sum = 0;
      for (int y = near.y0; y < near.y1; ++y) {
        for (int x = near.x0; x < near.x1; ++x) sum += static_cast<double>(cells[place(y, x)]);
      }
      out[place(row, column)] = static_cast<float>(sum / (near.width_px() * near.height_px()));
    }
  }
  return out;
}

}  // namespace

NoiseCells::NoiseCells(PlaneView picture, const Noise& noise)
    : columns_((picture.width_px + kCellPx - 1) / kCellPx),
      rows_((picture.height_px + kCellPx - 1) / kCellPx) {
  const auto cells = static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_);
  const auto* sigma = std::get_if<double>(&noise);
  for (std::size_t j = 0; j < planes_.size(); ++j) {
    planes_[j].all.assign(cells, 0);
    planes_[j].noise.assign(cells, sigma != nullptr ? white_power(static_cast<int>(j), *sigma) : 0);
  }
  for (int y = 0; y < picture.height_px; y += kTilePx) {
    for (int x = 0; x < picture.width_px; x += kTilePx) {
      measure(picture, noise,
              Box{x, y, x + kTilePx, y + kTilePx}.intersection(
                  {0, 0, picture.width_px, picture.height_px}));
    }
  }
  smooth();
}

void NoiseCells::measure(PlaneView picture, const Noise& noise, const Box& tile) {
  const Box around =
      Box{tile.x0 - kMarginPx, tile.y0 - kMarginPx, tile.x1 + kMarginPx, tile.y1 + kMarginPx}
          .intersection({0, 0, picture.width_px, picture.height_px});
  const Box inside = {tile.x0 - around.x0, tile.y0 - around.y0, tile.x1 - around.x0,
                      tile.y1 - around.y0};
  const auto add = [&](PlaneView of, std::vector<float> Powers::*to) {
    const AtrousPlanes split = atrous(of.crop(around), kPlanes);
    parallel_for(kPlanes, [&](std::int64_t j) {
      const auto i = static_cast<std::size_t>(j);
      add_cells(split.planes[i].view(), inside, columns_, tile.x0 / kCellPx, tile.y0 / kCellPx,
                planes_[i].*to);
    });
  };
  add(picture, &Powers::all);
  if (const auto* plane = std::get_if<PlaneView>(&noise)) add(*plane, &Powers::noise);
}

void NoiseCells::smooth() {
  for (std::size_t j = 0; j < planes_.size(); ++j) {
    for (std::vector<float>* cells : {&planes_[j].all, &planes_[j].noise})
      *cells = smoothed(*cells, columns_, rows_, kCellsAround[j]);
  }
}

RaisedNoise NoiseCells::raised(const std::vector<spectrum::FilterPoint>& gains, double restraint,
                               const spectrum::FrcCurve& frc) const {
  RaisedNoise out{columns_, rows_, std::vector<float>(planes_.front().all.size(), 1)};
  if (gains.empty()) return out;
  std::array<Band, kPlanes> bands;
  for (int j = 0; j < kPlanes; ++j) bands[static_cast<std::size_t>(j)] = band_of(j, gains, frc);
  for (std::size_t i = 0; i < out.times.size(); ++i) {
    bool is_noisy = false;
    double all_noise = 0;
    double noise_before = 0;
    for (std::size_t j = 0; j < bands.size(); ++j) {
      const double noise = static_cast<double>(planes_[j].noise[i]);
      const double all = std::max(static_cast<double>(planes_[j].all[i]), noise);
      if (all <= 0) continue;
      const double mixed = 1 - restraint * noise / all;  // as finish/detail.cpp mixes
      const double after = noise * bands[j].noise.power(mixed);
      const double detail_after = (all - noise) * bands[j].detail.power(mixed);
      is_noisy = is_noisy || (after >= kLeastTimes * kLeastTimes * noise &&
                              after >= kNoisyShare * (after + detail_after));
      all_noise += after;
      noise_before += noise;
    }
    if (!is_noisy || noise_before <= 0) continue;
    const double times = std::sqrt(all_noise / noise_before);
    if (times >= kLeastTimes) out.times[i] = static_cast<float>(times);
  }
  return out;
}

RaisedNoise larger_of(RaisedNoise a, const RaisedNoise& b) {
  for (std::size_t i = 0; i < a.times.size(); ++i) a.times[i] = std::max(a.times[i], b.times[i]);
  return a;
}

}  // namespace lull::finish
