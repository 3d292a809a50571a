#include "survey/tracker.h"

#include <algorithm>
#include <cmath>
#include <numbers>
#include <utility>

#include "core/statistics.h"
#include "spectrum/peak.h"

namespace lull::survey {

namespace {

constexpr double kTaperShare = 0.5;
constexpr double kLeastPeak = 5.2;  // a Gaussian field of 2e4 samples reaches it once in 500 times
constexpr std::size_t kFewestForShares = 8;
constexpr double kLeastFrequency = 1.5;  // cycles per window: slower is shading, not detail

int ring_of(const spectrum::Spectrum& spectrum, int r, int c, int rings) {
  const double f = std::hypot(spectrum.frequency_y(r), spectrum.frequency_x(c));
  return std::min(static_cast<int>(f * 2 * rings), rings - 1);
}

}  // namespace

Tracker::Tracker(Size reduced, quality::Target target, double white_up_to)
    : reduced_(reduced),
      window_{spectrum::fast_length_below(reduced.width_px),
              spectrum::fast_length_below(reduced.height_px)},
      target_(target),
      white_up_to_(white_up_to),
      taper_x_(spectrum::tukey_window(window_.width_px, kTaperShare)),
      taper_y_(spectrum::tukey_window(window_.height_px, kTaperShare)) {}

std::optional<Displacement> Tracker::centroid(PlaneView plane) const {
  const auto level = static_cast<float>(target_.object);
  const auto sky = static_cast<float>(target_.sky);
  double sum = 0;
  double sum_x = 0;
  double sum_y = 0;
  int count = 0;
  for (int y = 0; y < plane.height_px; ++y) {
    const float* row = plane.row(y);
    for (int x = 0; x < plane.width_px; ++x) {
      if (row[x] < level) continue;
      const auto light = static_cast<double>(row[x] - sky);
      sum += light;
      sum_x += light * x;
      sum_y += light * y;
      ++count;
    }
  }
  if (count < 4 || sum <= 0) return std::nullopt;
  return Displacement{sum_x / sum, sum_y / sum};
}

// Cuts the window around `centre`, subtracts the mean, tapers it, and transforms it. Outside the
// frame, sky is assumed (a disc); a surface is cut around the centre of the frame, where this does
// not occur.
void Tracker::cut(PlaneView plane, Displacement centre, Workspace& work) const {
  if (!work.fft || work.fft->size() != window_) {
    work.fft.emplace(window_);
    work.window = Plane(window_);
    work.correlation = Plane(window_);
  }
  const int left = static_cast<int>(std::lround(centre.x_px)) - window_.width_px / 2;
  const int top = static_cast<int>(std::lround(centre.y_px)) - window_.height_px / 2;
  work.corner = {static_cast<double>(left), static_cast<double>(top)};
  const auto sky = static_cast<float>(target_.sky);
  const int width = window_.width_px;
  const int from = std::clamp(-left, 0, width);  // columns of the window that the plane has
  const int to = std::clamp(plane.width_px - left, from, width);
  for (int y = 0; y < window_.height_px; ++y) {
    const int from_y = top + y;
    float* out = work.window.row(y);
    std::fill(out, out + width, sky);
    if (from_y >= 0 && from_y < plane.height_px && from < to)
      std::copy(plane.row(from_y) + left + from, plane.row(from_y) + left + to, out + from);
  }
  spectrum::windowed_spectrum(std::as_const(work.window).view(), taper_x_, taper_y_, *work.fft,
                              work.window, work.spectrum);
}

void Tracker::set_reference(PlaneView plane, FrameOffset at, Workspace& work) {
  const Displacement centre{0.5 * plane.width_px, 0.5 * plane.height_px};
  const bool disc = target_.kind == quality::TargetKind::disc;
  cut(plane, disc ? centroid(plane).value_or(centre) : centre, work);
  std::swap(reference_, work.spectrum);
  reference_corner_ = work.corner;
  reference_at_ = at;
  match(shares_of_single(median_powers()));
}

int Tracker::ring_count() const {
  return std::max(8, std::min(window_.width_px, window_.height_px) / 2);
}

// Median power of the bins of each ring of the reference.
std::vector<float> Tracker::median_powers() const {
  const int rings = ring_count();
  std::vector<std::vector<float>> powers(static_cast<std::size_t>(rings));
  for (int r = 0; r < reference_.rows(); ++r) {
    for (int c = 0; c < reference_.columns(); ++c) {
      powers[static_cast<std::size_t>(ring_of(reference_, r, c, rings))].push_back(
          std::norm(reference_.row(r)[c]));
    }
  }
  std::vector<float> medians;
  medians.reserve(powers.size());
  for (auto& ring : powers) medians.push_back(ring.empty() ? 0 : upper_median(ring));
  return medians;
}

// Share of the signal in each ring of a single frame. The weakest ring gives the noise, since an
// optical image has no power near the corner of the spectrum.
std::vector<float> Tracker::shares_of_single(const std::vector<float>& medians) const {
  const auto white = static_cast<std::size_t>(std::ceil(2 * white_up_to_ * ring_count()));
  const auto end = medians.begin() + static_cast<std::ptrdiff_t>(std::min(white, medians.size()));
  const float noise = std::max(*std::min_element(medians.begin(), end), 1e-30F);
  std::vector<float> shares(medians.size());
  std::transform(medians.begin(), end, shares.begin(), [noise](float power) {
    return std::max(power - 2 * noise, 0.0F) / std::max(power, 1e-30F);
  });
  return shares;
}

// Every frequency above the noise has the same weight, however strong it is. A limb fills a line of
// the spectrum with power, which holds no information about the shift along the limb. Unwhitened,
// it would outweigh the detail that does.
void Tracker::match(const std::vector<float>& shares) {
  const std::vector<float> medians = median_powers();
  if (matched_.plane_size() != window_) matched_ = spectrum::Spectrum(window_);
  for (int r = 0; r < reference_.rows(); ++r) {
    for (int c = 0; c < reference_.columns(); ++c) {
      const double cycles = std::hypot(reference_.frequency_y(r) * window_.height_px,
                                       reference_.frequency_x(c) * window_.width_px);
      const auto ring = static_cast<std::size_t>(ring_of(reference_, r, c, ring_count()));
      const std::complex<float> bin = reference_.row(r)[c];
      const float power = std::max({std::norm(bin), medians[ring], 1e-30F});
      matched_.row(r)[c] =
          cycles < kLeastFrequency ? 0.0F : std::conj(bin) * (shares[ring] / power);
    }
  }
}

// Cuts the window around the object, or around the middle of a surface.
bool Tracker::cut_object(PlaneView plane, Workspace& work) const {
  std::optional<Displacement> centre = Displacement{0.5 * plane.width_px, 0.5 * plane.height_px};
  if (target_.kind == quality::TargetKind::disc) centre = centroid(plane);
  if (centre) cut(plane, *centre, work);
  return centre.has_value();
}

// Correlates the window, turned, with the reference. A real plane that is turned by half has the
// conjugate spectrum; one with its rows in reverse has the rows of the spectrum in reverse.
void Tracker::correlate(Turn turn, Workspace& work) const {
  if (work.product.plane_size() != window_) work.product = spectrum::Spectrum(window_);
  const bool conjugate = swaps_columns(turn);
  const bool reverse = swaps_rows(turn) != swaps_columns(turn);
  const int rows = work.spectrum.rows();
  for (int r = 0; r < rows; ++r) {
    const std::complex<float>* bins = work.spectrum.row(reverse ? (rows - r) % rows : r);
    const std::complex<float>* matched = matched_.row(r);
    std::complex<float>* out = work.product.row(r);
    for (int c = 0; c < work.spectrum.columns(); ++c)
      out[c] = (conjugate ? std::conj(bins[c]) : bins[c]) * matched[c];
  }
  work.fft->inverse(work.product, work.correlation.view());
}

Outcome<FrameOffset> Tracker::locate(PlaneView plane, Workspace& work) const {
  if (!cut_object(plane, work)) return Reject::lost_target;
  correlate(Turn::none, work);
  const spectrum::CorrelationPeak peak =
      spectrum::find_peak(work.correlation.view(), window_.width_px, window_.height_px);
  if (!(peak.over_rms >= kLeastPeak)) return Reject::weak_peak;
  const Displacement moved = work.corner - reference_corner_;
  const FrameOffset corner = reference_at_ + FrameOffset{moved.x_px, moved.y_px};
  return corner + FrameOffset{peak.at.x_px, peak.at.y_px};
}

std::array<double, kTurns> Tracker::peaks(PlaneView plane, Workspace& work) const {
  std::array<double, kTurns> out{};
  if (!cut_object(plane, work)) return out;
  for (int t = 0; t < kTurns; ++t) {
    correlate(static_cast<Turn>(t), work);
    out[static_cast<std::size_t>(t)] =
        spectrum::find_peak(work.correlation.view(), window_.width_px, window_.height_px).over_rms;
  }
  return out;
}

void Tracker::average_reference(const std::vector<PlaneView>& planes,
                                const std::vector<FrameOffset>& at, Workspace& work) {
  LULL_ASSERT(planes.size() == at.size() && !planes.empty());
  spectrum::Spectrum sum(window_);
  std::vector<double> single(static_cast<std::size_t>(ring_count()));
  for (std::size_t i = 0; i < planes.size(); ++i) {
    // The window of the reference, moved by whole pixels; the rest is a phase.
    const FrameOffset moved = at[i] - reference_at_;
    const Displacement corner{reference_corner_.x_px + std::round(moved.x_px),
                              reference_corner_.y_px + std::round(moved.y_px)};
    cut(planes[i], corner + Displacement{0.5 * window_.width_px, 0.5 * window_.height_px}, work);
    const double dx = reference_corner_.x_px + moved.x_px - work.corner.x_px;
    const double dy = reference_corner_.y_px + moved.y_px - work.corner.y_px;
    for (int r = 0; r < sum.rows(); ++r) {
      for (int c = 0; c < sum.columns(); ++c) {
        const double phase =
            2 * std::numbers::pi * (sum.frequency_x(c) * dx + sum.frequency_y(r) * dy);
        const std::complex<float> turn(static_cast<float>(std::cos(phase)),
                                       static_cast<float>(std::sin(phase)));
        sum.row(r)[c] += work.spectrum.row(r)[c] * turn;
        single[static_cast<std::size_t>(ring_of(sum, r, c, ring_count()))] +=
            sum.multiplicity(c) * static_cast<double>(std::norm(work.spectrum.row(r)[c]));
      }
    }
  }
  std::swap(reference_, sum);
  match(planes.size() < kFewestForShares ? shares_of_single(median_powers())
                                         : shares_of_sum(single, planes.size()));
}

// Share of the signal in each ring, from the power of the sum over that of unrelated frames: what
// the frames share adds up by amplitude, noise by power.
std::vector<float> Tracker::shares_of_sum(const std::vector<double>& single,
                                          std::size_t frames) const {
  std::vector<double> together(single.size());
  for (int r = 0; r < reference_.rows(); ++r) {
    for (int c = 0; c < reference_.columns(); ++c) {
      together[static_cast<std::size_t>(ring_of(reference_, r, c, ring_count()))] +=
          reference_.multiplicity(c) * static_cast<double>(std::norm(reference_.row(r)[c]));
    }
  }
  const auto n = static_cast<double>(frames);
  std::vector<float> shares(single.size());
  for (std::size_t k = 0; k < shares.size(); ++k) {
    const double common = (together[k] / std::max(single[k], 1e-300) - 1) / (n - 1);
    shares[k] = static_cast<float>(std::clamp(common, 0.0, 1.0));
  }
  return shares;
}

}  // namespace lull::survey
