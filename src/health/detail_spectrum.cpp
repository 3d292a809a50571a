#include "health/detail_spectrum.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <complex>
#include <numeric>

#include "core/parallel.h"
#include "health/sample_kernels.h"
#include "spectrum/window_kernels.h"

namespace lull::health {

namespace {

constexpr int kLargestTile = 256;
constexpr int kSmallestTile = 48;
constexpr std::size_t kRings = 36;  // 0 to 0.72 cycles/px: into the corners of the spectrum
constexpr double kRingWidth = 0.02;
constexpr double kFloorFrom = 0.52;    // mono: beyond the edges of the spectrum
constexpr double kMosaicFree = 0.42;   // mosaic: that far from the green's spectrum and its copies
constexpr double kAxis = 2.5;          // bins beside the axes: edges and lines of the sensor
constexpr double kFirstLooked = 0.03;  // below, the window's own width
constexpr std::size_t kRingsUp = 26;   // rings up to 0.52 cycles/px are judged
constexpr double kAboveNoise = 0.03;   // as the noise's own unevenness is about 1%
constexpr double kSigmas = 5;
constexpr double kSmallestBins = 8;
constexpr std::int64_t kFewestFrames = 16;
constexpr std::size_t kFewestOfBlock = 4;

}  // namespace

DetailSpectrumSum::DetailSpectrumSum(const capture::CaptureInfo& info)
    : plane_(info.colour == capture::Colour::rgb ? 1 : 0),
      mosaic_(info.colour == capture::Colour::cfa),
      cfa_(info.cfa),
      frame_(info.size),
      tile_{spectrum::fast_length_below(std::min(info.size.width_px, kLargestTile)),
            spectrum::fast_length_below(std::min(info.size.height_px, kLargestTile))},
      taper_x_(spectrum::tukey_window(tile_.width_px, 1)),
      taper_y_(spectrum::tukey_window(tile_.height_px, 1)),
      power_(kRings, 0),
      bins_(kRings, 0) {}

// The samples less their mean, under the window. Of a mosaic only green counts.
template <class T>
void DetailSpectrumSum::fill(SampleView samples, int x0, int y0, Plane& tile) const {
  const int width = tile.width();
  std::array<std::vector<float>, 2> weights;  // of even and odd rows
  std::array<double, 2> totals{};
  for (const int odd : {0, 1}) {
    const auto of = static_cast<std::size_t>(odd);
    weights[of] = taper_x_;
    for (int x = 0; x < width && mosaic_; ++x) {
      const bool green = capture::cfa_colour_at(cfa_, x + x0, odd + y0) == 1;
      if (!green) weights[of][static_cast<std::size_t>(x)] = 0;
    }
    totals[of] = std::accumulate(weights[of].begin(), weights[of].end(), 0.0);
  }
  double sum = 0;
  double total = 0;
  for (int y = 0; y < tile.height(); ++y) {
    const auto odd = static_cast<std::size_t>(y % 2);
    const T* row = samples.row<T>(y + y0) + x0;
    float in_row = 0;
    std::copy_n(row, width, tile.row(y));
    spectrum::kernels::weighted_sum()(tile.row(y), 0, weights[odd].data(), width, &in_row);
    const auto w = static_cast<double>(taper_y_[static_cast<std::size_t>(y)]);
    sum += w * static_cast<double>(in_row);
    total += w * totals[odd];
  }
  const auto mean = static_cast<float>(total > 0 ? sum / total : 0);
  for (int y = 0; y < tile.height(); ++y) {
    spectrum::kernels::apply_window()(tile.row(y), mean, taper_y_[static_cast<std::size_t>(y)],
                                      weights[static_cast<std::size_t>(y % 2)].data(), width,
                                      tile.row(y));
  }
}

void DetailSpectrumSum::transform(const capture::Frame& frame, Displacement object_centre,
                                  std::size_t slot) {
  const auto start = [](double centre, int tile, int side) {
    return std::clamp(static_cast<int>(std::lround(centre)) - tile / 2, 0, side - tile);
  };
  const int x0 = start(object_centre.x_px, tile_.width_px, frame_.width_px);
  const int y0 = start(object_centre.y_px, tile_.height_px, frame_.height_px);
  const SampleView& samples = frame.planes[plane_];
  samples.type == SampleType::u8 ? fill<std::uint8_t>(samples, x0, y0, tiles_[slot])
                                 : fill<std::uint16_t>(samples, x0, y0, tiles_[slot]);
  spectrum::Fft(tile_).forward(tiles_[slot].view(), spectra_[slot]);
}

// kRings: not looked at. kRings + 1: noise alone.
std::size_t DetailSpectrumSum::ring_of(double fx, double fy) const {
  if (fx * tile_.width_px < kAxis || fy * tile_.height_px < kAxis) return kRings;
  const double radius = std::hypot(fx, fy);
  if (mosaic_) {
    const double from_copy = std::hypot(0.5 - fx, 0.5 - fy);
    if (radius > kMosaicFree && from_copy > kMosaicFree) return kRings + 1;
    if (from_copy < radius) return kRings;
  } else if (radius > kFloorFrom) {
    return kRings + 1;
  }
  return std::min(static_cast<std::size_t>(radius / kRingWidth), kRings - 1);
}

void DetailSpectrumSum::index_rings() {
  const spectrum::Spectrum& bins = spectra_[0];
  for (int r = 0; r < bins.rows(); ++r) {
    for (int c = 0; c < bins.columns(); ++c)
      rings_.push_back(ring_of(bins.frequency_x(c), std::abs(bins.frequency_y(r))));
  }
}

void DetailSpectrumSum::add(const std::vector<const capture::Frame*>& frames,
                            const std::vector<Displacement>& centres) {
  if (frames.size() < kFewestOfBlock || std::min(tile_.width_px, tile_.height_px) < kSmallestTile)
    return;
  while (spectra_.size() < frames.size()) {
    spectra_.emplace_back(tile_);
    tiles_.emplace_back(tile_);
  }
  parallel_for(static_cast<std::int64_t>(frames.size()), [&](std::int64_t i) {
    const auto slot = static_cast<std::size_t>(i);
    transform(*frames[slot], centres[slot], slot);
  });
  if (rings_.empty()) index_rings();
  scatter_.resize(rings_.size());
  parallel_for(spectra_[0].rows(),
               [&](std::int64_t r) { find_scatter(static_cast<int>(r), frames.size()); });
  const double freedom = static_cast<double>(frames.size()) - 1;
  for (std::size_t bin = 0; bin < rings_.size(); ++bin) {
    const std::size_t ring = rings_[bin];
    if (ring == kRings) continue;
    (ring > kRings ? floor_power_ : power_[ring]) += static_cast<double>(scatter_[bin]);
    (ring > kRings ? floor_bins_ : bins_[ring]) += freedom;
  }
  frames_seen_ += static_cast<std::int64_t>(frames.size());
}

// Of the first `count` spectra about their mean, bin by bin of a row.
void DetailSpectrumSum::find_scatter(int row, std::size_t count) {
  const int columns = spectra_[0].columns();
  std::vector<std::complex<float>> mean(static_cast<std::size_t>(columns));
  for (std::size_t i = 0; i < count; ++i) {
    const std::complex<float>* bins = spectra_[i].row(row);
    for (std::size_t c = 0; c < mean.size(); ++c) mean[c] += bins[c];
  }
  for (std::complex<float>& bin : mean) bin /= static_cast<float>(count);
  float* sums = scatter_.data() + static_cast<std::ptrdiff_t>(row) * columns;
  std::fill_n(sums, columns, 0.0F);
  for (std::size_t i = 0; i < count; ++i) {
    kernels::add_scatter()(spectrum::reals(spectra_[i].row(row)), spectrum::reals(mean.data()),
                           columns, sums);
  }
}

std::optional<DetailSpectrum> DetailSpectrumSum::result() const {
  if (frames_seen_ < kFewestFrames || floor_bins_ <= 0 || floor_power_ <= 0) return std::nullopt;
  const double noise = floor_power_ / floor_bins_;
  DetailSpectrum out;
  bool ended = false;
  for (std::size_t i = 0; i < kRingsUp; ++i) {
    const double frequency = (static_cast<double>(i) + 0.5) * kRingWidth;
    if (frequency < kFirstLooked || bins_[i] < kSmallestBins) continue;
    const double power = power_[i] / bins_[i] / noise;
    const double above = power - 1;
    const double threshold = std::max(kAboveNoise, kSigmas / std::sqrt(bins_[i]));
    if (!ended && above < threshold) {
      ended = true;
      if (!out.rings.empty()) {
        // Between the last ring above and this one, where the logarithm meets the threshold.
        const double last = std::log(std::max(out.rings.back().power - 1, 1e-9) / threshold);
        const double next = std::log(std::max(above, threshold / 10) / threshold);
        const double share = last > next ? std::clamp(last / (last - next), 0.0, 1.0) : 0;
        out.limit = out.rings.back().frequency + share * (frequency - out.rings.back().frequency);
      }
    }
    out.rings.push_back({frequency, power});
  }
  if (!ended && !out.rings.empty()) {
    out.to_the_end = true;
    out.limit = out.rings.back().frequency;
  }
  return out;
}

}  // namespace lull::health
