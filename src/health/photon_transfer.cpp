#include "health/photon_transfer.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdlib>

#include "core/parallel.h"
#include "health/sample_kernels.h"

namespace lull::health {

namespace {

constexpr int kReach = 4;  // samples around a place that it looks at
constexpr std::int64_t kPlacesPerPair = 5000;
constexpr double kFineNorm = 36;  // sum of the squared coefficients
constexpr double kCoarseNorm = 4;
constexpr double kBoxSamples = 18;  // 3 x 3 of both frames
constexpr double kFlattest = 0.25;  // of the places at a brightness
constexpr std::int64_t kFewestPlaces = 200;
constexpr double kClippedWithin = 5;    // sigma of 0 or of full scale: the noise is cut off
constexpr double kModelScatter = 0.02;  // relative, of a variance: what structure adds
// Noise under half a level is rounded away or up; from there on rounding adds an even 1/12 (Widrow
// & Kollar 2008, Quantization Noise, from memory), which does not change the slope.
constexpr double kRoundedAdu2 = 0.25;
constexpr double kRoundingAdu2 = 1.0 / 12;   // always white
constexpr double kLeastVarianceAdu2 = 0.02;  // noise besides rounding, to be judged
constexpr double kSystematic = 0.02;         // of the gain, found on captures of known gain
constexpr double kSignificant = 5;           // slope over its error
constexpr double kHigh = 1.5;                // sigma above the line: structure, counts less

template <class T>
struct Place {
  const T* first;
  const T* second;
  std::ptrdiff_t row1, row2;
  std::ptrdiff_t step;

  [[nodiscard]] int difference(int x, int y) const {
    return static_cast<int>(first[y * step * row1 + x * step]) -
           static_cast<int>(second[y * step * row2 + x * step]);
  }

  [[nodiscard]] std::int64_t fine() const {
    const auto line = [this](int y) {
      return difference(-1, y) - 2 * difference(0, y) + difference(1, y);
    };
    return line(-1) - 2 * line(0) + line(1);
  }

  [[nodiscard]] std::int64_t coarse() const {
    return difference(0, 0) - difference(1, 0) - difference(0, 1) + difference(1, 1);
  }
};

// Of three rows of both frames, column by column: sums, and highest values.
class Strip {
 public:
  template <class T>
  void look(const SampleView& a, const SampleView& b, int y, int step) {
    sums_.resize(static_cast<std::size_t>(a.width_px));
    most_.resize(sums_.size());
    const std::array<const T*, 6> rows = {a.row<T>(y - step), a.row<T>(y), a.row<T>(y + step),
                                          b.row<T>(y - step), b.row<T>(y), b.row<T>(y + step)};
    if constexpr (sizeof(T) == 1) {
      kernels::strip_u8()(rows.data(), a.width_px, sums_.data(), most_.data());
    } else {
      kernels::strip_u16()(rows.data(), a.width_px, sums_.data(), most_.data());
    }
  }

  /// Sum of the 3 x 3 samples around a column, of both frames.
  [[nodiscard]] int box(int x, int step) const {
    return sums_[at(x - step)] + sums_[at(x)] + sums_[at(x + step)];
  }

  [[nodiscard]] bool below(int full, int x, int step) const {
    return most_[at(x - step)] < full && most_[at(x)] < full && most_[at(x + step)] < full;
  }

 private:
  static std::size_t at(int x) { return static_cast<std::size_t>(x); }

  std::vector<int> sums_, most_;
};

}  // namespace

double PhotonTransfer::noise_at_adu(double level_adu) const {
  for (const Point& point : points) {
    if (point.level_adu >= level_adu) return std::sqrt(point.variance_adu2);
  }
  return 0;
}

PhotonTransferCounts::PhotonTransferCounts(const capture::CaptureInfo& info)
    : plane_(info.colour == capture::Colour::rgb ? 1 : 0),
      step_(info.colour == capture::Colour::cfa ? 2 : 1),
      full_scale_(info.full_scale),
      black_(info.scale.black),
      adu_per_unit_(info.scale.per_unit * ((1 << info.bits.used) - 1)),
      top_adu_((1 << info.bits.used) - 1),
      slots_(kSlots) {}

template <class T>
void PhotonTransferCounts::count(const Pair& pair, Table& table) const {
  const SampleView& a = pair.first->planes[plane_];
  const SampleView& b = pair.second->planes[plane_];
  const int margin = kReach * step_;
  const auto spacing =
      std::max(4.0 * step_, std::sqrt(static_cast<double>(a.size().area_px()) / kPlacesPerPair));
  const int stride = static_cast<int>(std::ceil(spacing / step_)) * step_ + (step_ == 2 ? 1 : 0);
  const int full = static_cast<int>(std::floor(full_scale_));
  Strip above;
  Strip middle;
  Strip under;
  for (int y = margin; y + margin < a.height_px; y += stride) {
    above.look<T>(a, b, y - 3 * step_, step_);
    middle.look<T>(a, b, y, step_);
    under.look<T>(a, b, y + 3 * step_, step_);
    for (int x = margin; x + margin < a.width_px; x += stride) {
      const Place<T> place{a.row<T>(y) + x, b.row<T>(y) + x,
                           a.stride_bytes / static_cast<std::ptrdiff_t>(sizeof(T)),
                           b.stride_bytes / static_cast<std::ptrdiff_t>(sizeof(T)), step_};
      if (!middle.below(full, x, step_)) continue;
      const int centre = middle.box(x, step_);
      const int structure = std::abs(middle.box(x - 3 * step_, step_) - centre) +
                            std::abs(middle.box(x + 3 * step_, step_) - centre) +
                            std::abs(above.box(x, step_) - centre) +
                            std::abs(under.box(x, step_) - centre);
      const double light = std::max(0.0, (centre / kBoxSamples - black_) / (full_scale_ - black_));
      const double relative = (structure + 0.5) / kBoxSamples / (full_scale_ - black_);
      const auto level =
          std::min(static_cast<std::size_t>(std::sqrt(light) * kLevels), kLevels - 1);
      const auto rough = static_cast<std::size_t>(
          std::clamp(2 * std::log2(relative * 65536), 0.0, static_cast<double>(kStructures - 1)));
      Cell& cell = table[level][rough];
      const std::int64_t fine = place.fine();
      const std::int64_t coarse = place.coarse();
      ++cell.samples;
      cell.level += centre;
      cell.fine += static_cast<std::uint64_t>(fine * fine);
      cell.coarse += static_cast<std::uint64_t>(coarse * coarse);
    }
  }
}

void PhotonTransferCounts::add(const std::vector<Pair>& pairs) {
  parallel_for(static_cast<std::int64_t>(kSlots), [&](std::int64_t s) {
    const auto slot = static_cast<std::size_t>(s);
    for (std::size_t i = slot; i < pairs.size(); i += kSlots) {
      pairs[i].first->planes[0].type == SampleType::u8
          ? count<std::uint8_t>(pairs[i], slots_[slot])
          : count<std::uint16_t>(pairs[i], slots_[slot]);
    }
  });
}

PhotonTransferCounts::Cell PhotonTransferCounts::flattest(std::size_t level) const {
  const auto at = [&](std::size_t rough) {
    Cell sum;
    for (const Table& table : slots_) {
      const Cell& cell = table[level][rough];
      sum.samples += cell.samples;
      sum.level += cell.level;
      sum.fine += cell.fine;
      sum.coarse += cell.coarse;
    }
    return sum;
  };
  std::int64_t all = 0;
  for (std::size_t rough = 0; rough < kStructures; ++rough) all += at(rough).samples;
  Cell out;
  for (std::size_t rough = 0; rough < kStructures; ++rough) {
    const Cell more = at(rough);
    out.samples += more.samples;
    out.level += more.level;
    out.fine += more.fine;
    out.coarse += more.coarse;
    if (static_cast<double>(out.samples) >= kFlattest * static_cast<double>(all)) break;
  }
  return out;
}

std::optional<PhotonTransfer> PhotonTransferCounts::result() const {
  PhotonTransfer out;
  double fine = 0;
  double coarse = 0;
  for (std::size_t level = 0; level < kLevels; ++level) {
    const Cell cell = flattest(level);
    if (cell.samples < kFewestPlaces) continue;
    const auto count = static_cast<double>(cell.samples);
    const double mean = static_cast<double>(cell.level) / kBoxSamples / count;
    const double square = adu_per_unit_ * adu_per_unit_ / (2 * count);  // 2: of a difference
    const PhotonTransfer::Point point{(mean - black_) * adu_per_unit_,
                                      static_cast<double>(cell.fine) * square / kFineNorm, count};
    const double sigma = std::sqrt(point.variance_adu2);
    if (mean * adu_per_unit_ < kClippedWithin * sigma ||
        point.level_adu > top_adu_ - kClippedWithin * sigma)
      continue;
    out.points.push_back(point);
    const double coarse_adu2 = static_cast<double>(cell.coarse) * square / kCoarseNorm;
    if (coarse_adu2 < kRoundingAdu2 + kLeastVarianceAdu2) continue;
    fine += count * std::max(point.variance_adu2 - kRoundingAdu2, 0.0);
    coarse += count * (coarse_adu2 - kRoundingAdu2);
  }
  if (out.points.empty()) return std::nullopt;
  out.darkest_noise_adu = std::sqrt(out.points.front().variance_adu2);
  out.whiteness = coarse > 0 ? fine / coarse : 1;
  fit(out);
  return out;
}

// Weighted least squares; points above the line are probably structure and get less weight.
void PhotonTransferCounts::fit(PhotonTransfer& transfer) const {
  std::vector<PhotonTransfer::Point> points;
  for (const auto& point : transfer.points) {
    if (point.variance_adu2 >= kRoundedAdu2) points.push_back(point);
  }
  if (points.size() < 4) return;
  std::vector<double> doubt(points.size(), 1);
  double slope = 0;
  double slope_error = 0;
  for (int round = 0; round < 8; ++round) {
    double s = 0, sx = 0, sy = 0, sxx = 0, sxy = 0;
    std::vector<double> sigma;
    for (std::size_t i = 0; i < points.size(); ++i) {
      const double v = points[i].variance_adu2;
      sigma.push_back(v * std::sqrt(2 / points[i].samples + kModelScatter * kModelScatter) + 1e-9);
      const double w = doubt[i] / (sigma[i] * sigma[i]);
      s += w;
      sx += w * points[i].level_adu;
      sy += w * v;
      sxx += w * points[i].level_adu * points[i].level_adu;
      sxy += w * points[i].level_adu * v;
    }
    const double determinant = s * sxx - sx * sx;
    if (determinant <= 0) return;
    slope = (s * sxy - sx * sy) / determinant;
    const double intercept = (sy * sxx - sx * sxy) / determinant;
    double chi2 = 0;
    for (std::size_t i = 0; i < points.size(); ++i) {
      const double off =
          (points[i].variance_adu2 - intercept - slope * points[i].level_adu) / sigma[i];
      chi2 += doubt[i] * off * off;
      doubt[i] = off > kHigh ? kHigh / off : 1;
    }
    const double spread = std::max(1.0, chi2 / static_cast<double>(points.size() - 2));
    slope_error = std::sqrt(spread * s / determinant);
  }
  if (slope <= kSignificant * slope_error) return;
  transfer.gain_e_per_adu = 1 / slope;
  transfer.gain_error = std::hypot(slope_error / slope, kSystematic);
}

}  // namespace lull::health
