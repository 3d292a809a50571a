#include "health/turbulence.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include "core/parallel.h"
#include "quality/luminance.h"
#include "spectrum/patch_grid.h"
#include "spectrum/phase_slope.h"
#include "spectrum/sampling.h"

namespace lull::health {

namespace {

constexpr int kSide = 128;
constexpr int kSmallestSide = 48;
constexpr int kMargin = 24;  // px, from the edge of the frame
constexpr std::size_t kMostPatches = 8;
constexpr std::size_t kFrames = 64;  // at least, where the capture has so many; at most twice
constexpr std::size_t kFewestFrames = 24;
constexpr double kRing = 0.03;  // width, of the cutoff
constexpr std::size_t kRings = 20;
constexpr double kNoiseFrom = 1.05;  // of the cutoff
constexpr double kNoiseTo = 1.45;
constexpr std::size_t kFewestNoiseBins = 100;
constexpr int kRounds = 4;

double laplacian_power(double fx, double fy) {
  const double amplitude =
      4 - 2 * std::cos(2 * std::numbers::pi * fx) - 2 * std::cos(2 * std::numbers::pi * fy);
  return amplitude * amplitude;
}

// Leaves room for the object to move.
int side_for(int length) { return spectrum::fast_length_below(std::min(3 * length / 4, kSide)); }

std::vector<int> starts_for(int length, int side) {
  const int margin = std::min((length - side) / 2, kMargin);
  return spectrum::patch_starts(margin, length - margin, side);
}

}  // namespace

TurbulenceProbe::TurbulenceProbe(const capture::CaptureInfo& info, double cutoff)
    : info_(info),
      cutoff_(cutoff),
      side_{side_for(info.size.width_px), side_for(info.size.height_px)},
      across_(spectrum::tukey_window(side_.width_px, 1)),
      down_(spectrum::tukey_window(side_.height_px, 1)) {
  list_bins();
  const auto promised = static_cast<std::int64_t>(info.storage.header_frames);
  stride_ = std::max<std::int64_t>(1, promised / static_cast<std::int64_t>(kFrames));
}

void TurbulenceProbe::list_bins() {
  const bool mosaic = info_.colour == capture::Colour::cfa;
  const spectrum::Spectrum spectrum(side_);
  for (int r = 0; r < spectrum.rows(); ++r) {
    for (int c = 0; c < spectrum.columns(); ++c) {
      Bin bin{r, c, spectrum.frequency_x(c), spectrum.frequency_y(r), 0, spectrum.multiplicity(c),
              0};
      bin.q = std::hypot(bin.fx, bin.fy) / cutoff_;
      bin.noise = laplacian_power(bin.fx, bin.fy);
      if (mosaic)
        bin.noise *= spectrum::smoothing_power(bin.fx) * spectrum::smoothing_power(bin.fy);
      if (bin.q > 0 && bin.q < kRing * kRings) bins_.push_back(bin);
      if (bin.q > kNoiseFrom && bin.q < kNoiseTo) beyond_.push_back(bin);
    }
  }
  std::stable_partition(bins_.begin(), bins_.end(),
                        [](const Bin& bin) { return bin.q < spectrum::kTiltFrequency; });
  low_ = static_cast<std::size_t>(std::count_if(
      bins_.begin(), bins_.end(), [](const Bin& bin) { return bin.q < spectrum::kTiltFrequency; }));
  for (const Bin& bin : beyond_) beyond_noise_ += bin.count * bin.noise;
}

Plane TurbulenceProbe::light_of(const capture::Frame& frame, double brightness) const {
  quality::LuminanceBuffer buffer;
  const quality::Luminance light = quality::luminance(frame, info_, buffer);
  SampleScale scale = light.scale;
  scale.per_unit /= brightness;
  Plane plane(info_.size);
  to_plane(light.view, scale, plane.view());
  return plane;
}

TurbulenceProbe::Cut TurbulenceProbe::cut(PlaneView light, Place place, Displacement rest,
                                          spectrum::Fft& fft) const {
  Cut out;
  if (place.x < 1 || place.y < 1 || place.x + side_.width_px >= light.width_px ||
      place.y + side_.height_px >= light.height_px)
    return out;
  Plane sharp(side_);
  for (int y = 0; y < side_.height_px; ++y) {
    const float* above = light.row(place.y + y - 1) + place.x;
    const float* row = light.row(place.y + y) + place.x;
    const float* below = light.row(place.y + y + 1) + place.x;
    for (int x = 0; x < side_.width_px; ++x)
      sharp.row(y)[x] = 4 * row[x] - row[x - 1] - row[x + 1] - above[x] - below[x];
  }
  const spectrum::Spectrum spectrum =
      spectrum::windowed_spectrum(std::as_const(sharp).view(), across_, down_, fft);
  out.bins.reserve(bins_.size());
  for (const Bin& bin : bins_) {
    const double turn = 2 * std::numbers::pi * (bin.fx * rest.x_px + bin.fy * rest.y_px);
    out.bins.push_back(spectrum.row(bin.row)[bin.column] *
                       std::complex<float>(std::polar(1.0, turn)));
  }
  for (const Bin& bin : beyond_) {
    out.beyond += bin.count * std::norm(std::complex<double>(spectrum.row(bin.row)[bin.column]));
  }
  return out;
}

// Those of the first frame that hold most detail.
void TurbulenceProbe::choose_patches(const capture::Frame& frame) {
  for (const int y : starts_for(info_.size.height_px, side_.height_px)) {
    for (const int x : starts_for(info_.size.width_px, side_.width_px)) patches_.push_back({x, y});
  }
  const Plane light = light_of(frame, 1);
  std::vector<double> power(patches_.size());
  parallel_for(static_cast<std::int64_t>(patches_.size()), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    spectrum::Fft fft(side_);
    const Cut seen = cut(light.view(), patches_[i], {}, fft);
    for (const auto& bin : seen.bins) power[i] += static_cast<double>(std::norm(bin));
  });
  std::vector<std::size_t> order(patches_.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::stable_sort(order.begin(), order.end(),
                   [&](std::size_t a, std::size_t b) { return power[a] > power[b]; });
  order.resize(std::min(order.size(), kMostPatches));
  std::vector<Place> chosen;
  chosen.reserve(order.size());
  for (const std::size_t i : order) chosen.push_back(patches_[i]);
  patches_ = std::move(chosen);
}

TurbulenceProbe::Sample TurbulenceProbe::sample(const capture::Frame& frame,
                                                const quality::FrameRecord& record) const {
  const Plane light = light_of(frame, record.brightness);
  const FrameOffset moved = record.offset - *origin_;
  const int dx = static_cast<int>(std::lround(moved.x_px));
  const int dy = static_cast<int>(std::lround(moved.y_px));
  Sample out{record.index, {}};
  spectrum::Fft fft(side_);
  for (const Place& place : patches_) {
    out.cuts.push_back(
        cut(light.view(), {place.x + dx, place.y + dy}, {moved.x_px - dx, moved.y_px - dy}, fft));
  }
  return out;
}

void TurbulenceProbe::see(const std::vector<capture::Frame>& frames, const survey::Survey& so_far) {
  if (beyond_.size() < kFewestNoiseBins ||
      std::min(side_.width_px, side_.height_px) < kSmallestSide)
    return;
  std::vector<std::pair<const capture::Frame*, const quality::FrameRecord*>> wanted;
  auto record = so_far.records.rbegin();
  for (auto frame = frames.rbegin(); frame != frames.rend(); ++frame) {
    while (record->index != frame->index) ++record;
    if (record->usable() && record->index % stride_ == 0) wanted.emplace_back(&*frame, &*record);
  }
  if (wanted.empty()) return;
  std::reverse(wanted.begin(), wanted.end());
  if (!origin_) {
    origin_ = wanted[0].second->offset;
    choose_patches(*wanted[0].first);
  }
  const std::size_t before = samples_.size();
  samples_.resize(before + wanted.size());
  parallel_for(static_cast<std::int64_t>(wanted.size()), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    samples_[before + i] = sample(*wanted[i].first, *wanted[i].second);
  });
  while (samples_.size() >= 2 * kFrames) thin_out();
}

// A longer capture than promised: half as many frames, still evenly.
void TurbulenceProbe::thin_out() {
  stride_ *= 2;
  std::erase_if(samples_, [this](const Sample& one) { return one.index % stride_ != 0; });
}

// Moves every cut by the slope of its low phases against the mean of the others.
void TurbulenceProbe::line_up(std::vector<Bins>& cuts) const {
  const auto count = static_cast<float>(cuts.size());
  for (int round = 0; round < kRounds; ++round) {
    Bins mean(low_);
    for (const Bins& one : cuts) {
      for (std::size_t b = 0; b < low_; ++b) mean[b] += one[b] / count;
    }
    for (Bins& one : cuts) {
      spectrum::PhaseSlope slope;
      for (std::size_t b = 0; b < low_; ++b) {
        const std::complex<double> cross(one[b] * std::conj(mean[b] - one[b] / count));
        slope.add(cross, bins_[b].fx, bins_[b].fy, bins_[b].count);
      }
      const auto away = slope.displacement();
      if (!away) continue;
      for (std::size_t b = 0; b < one.size(); ++b) {
        const double turn =
            2 * std::numbers::pi * (bins_[b].fx * away->x_px + bins_[b].fy * away->y_px);
        one[b] *= std::complex<float>(std::polar(1.0, turn));
      }
    }
  }
}

void TurbulenceProbe::add_patch(std::size_t patch, Sums& sums) const {
  std::vector<Bins> cuts;
  double beyond = 0;
  for (const Sample& one : samples_) {
    if (one.cuts[patch].bins.empty()) continue;
    cuts.push_back(one.cuts[patch].bins);
    beyond += one.cuts[patch].beyond;
  }
  if (cuts.size() < kFewestFrames) return;
  line_up(cuts);
  const auto count = static_cast<double>(cuts.size());
  const double white = beyond / count / beyond_noise_;
  for (std::size_t b = 0; b < bins_.size(); ++b) {
    std::complex<double> halves[2];
    double power = 0;
    for (std::size_t i = 0; i < cuts.size(); ++i) {
      halves[i % 2] += std::complex<double>(cuts[i][b]);
      power += static_cast<double>(std::norm(cuts[i][b]));
    }
    const Bin& bin = bins_[b];
    const auto ring = std::min(static_cast<std::size_t>(bin.q / kRing), kRings - 1);
    const double even = std::ceil(count / 2);
    const double noise = white * bin.noise;
    const double signal = power / count - noise;
    sums.coherent[ring] +=
        bin.count * (halves[0] * std::conj(halves[1])).real() / (even * (count - even));
    sums.power[ring] += bin.count * signal;
    sums.noise[ring] += bin.count * noise;
    sums.weighted_q[ring] += bin.count * signal * bin.q;
  }
}

std::optional<Turbulence> TurbulenceProbe::result() const {
  if (samples_.size() < kFewestFrames) return std::nullopt;
  const std::vector<double> none(kRings);
  std::vector<Sums> parts(patches_.size(), Sums{none, none, none, none});
  parallel_for(static_cast<std::int64_t>(patches_.size()), [&](std::int64_t n) {
    add_patch(static_cast<std::size_t>(n), parts[static_cast<std::size_t>(n)]);
  });
  Turbulence out;
  out.frames = static_cast<std::int64_t>(samples_.size());
  for (std::size_t ring = 0; ring < kRings; ++ring) {
    Coherence sum;
    double noise = 0;
    double power = 0;
    for (const Sums& part : parts) {
      sum.ratio += part.coherent[ring];
      sum.q += part.weighted_q[ring];
      power += part.power[ring];
      noise += part.noise[ring];
    }
    if (!(power > 0)) break;
    out.rings.push_back({sum.q / power, sum.ratio / power, noise > 0 ? power / noise : 1e9});
  }
  const auto found = spectrum::turbulence_of(out.rings);
  if (!found) return std::nullopt;
  out.d_over_r0 = *found;
  return out;
}

}  // namespace lull::health
