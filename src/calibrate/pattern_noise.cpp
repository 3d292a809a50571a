#include "calibrate/pattern_noise.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>

#include "core/parallel.h"
#include "core/statistics.h"

namespace lull::calibrate {

namespace {

using Values = std::vector<double>;

constexpr std::int64_t kFewestFrames = 12;
constexpr int kFewestLines = 32;
constexpr int kMostAlong = 1024;  // pixels of a line that the median needs
constexpr double kAgreement = 0.5;
constexpr double kSigmas = 5;
constexpr double kOdd = 6;  // standard deviations by which the halves of a line may differ
constexpr double kLeastSpread = 0.02;  // stored units: means of two dozen integers are that coarse
// What a wave across the lines must stand out by from the mean of its neighbours, 1 - cos(2 pi f),
// for half of it to be taken for the pattern: at f = 0.088, 0.13, 0.18 and 0.25 cycles a line.
constexpr std::array<double, 4> kHalfAt = {0.15, 0.3, 0.6, 1.0};
constexpr double kMuchPower = 1.5;  // times that of white noise, in the presumed pattern
// Of eighth differences, (1, -8, 28, -56, 70, ...) / 16: the sum of the squares; and by how much
// fewer their lines are worth, as neighbours share lines: 1 + 2 sum of C(16, 8 + k)^2 / C(16, 8)^2.
constexpr double kEighthPower = 12870.0 / 256;
constexpr double kShared = 3.63;

// The lines of a plane, of the same kind whether they are its columns or its rows.
struct Lines {
  std::array<PlaneView, 2> sums;  // of the two halves of the frames
  std::array<float, 2> per_frame;
  bool columns;
  int step;

  [[nodiscard]] int count() const { return columns ? sums[0].width_px : sums[0].height_px; }

  [[nodiscard]] int length() const { return columns ? sums[0].height_px : sums[0].width_px; }

  [[nodiscard]] float at(std::size_t half, int line, int along) const {
    return per_frame[half] * (columns ? sums[half].row(along)[line] : sums[half].row(line)[along]);
  }

  // Difference of a pixel from the lines of its colour beside it.
  [[nodiscard]] float step_out(std::size_t half, int line, int along) const {
    return at(half, line, along) -
           0.5F * (at(half, line - step, along) + at(half, line + step, along));
  }
};

// Second differences: how far each line differs, by pieces with independent noise, and as a whole.
struct SteppedOut {
  std::array<std::array<Values, 2>, 2> part;  // by half of the frames, by half of the line
  Values whole;
};

SteppedOut stepped_out(const Lines& lines) {
  const int count = lines.count();
  SteppedOut out;
  out.whole.assign(static_cast<std::size_t>(count), 0);
  for (auto& half : out.part) half.fill(out.whole);
  const int stride = std::max(1, lines.length() / kMostAlong);
  parallel_for(count - 2 * lines.step, [&](std::int64_t n) {
    const int line = static_cast<int>(n) + lines.step;
    const auto place = static_cast<std::size_t>(line);
    std::vector<float> all;
    for (std::size_t end = 0; end < 2; ++end) {
      const int middle = lines.length() / 2;
      const int from = end == 0 ? 0 : middle;
      const int to = end == 0 ? middle : lines.length();
      std::array<std::vector<float>, 2> values;
      for (int along = from; along < to; along += stride) {
        for (std::size_t half = 0; half < 2; ++half)
          values[half].push_back(lines.step_out(half, line, along));
        all.push_back(0.5F * (values[0].back() + values[1].back()));
      }
      for (std::size_t half = 0; half < 2; ++half)
        out.part[half][end][place] = static_cast<double>(upper_median(values[half]));
    }
    out.whole[place] = static_cast<double>(upper_median(all));
  });
  return out;
}

double spread(Values values) {
  for (double& v : values) v = std::abs(v);
  return kMadToSigma * upper_median(values);
}

// Lines with the same offset at both ends and in both halves of the frames; the scene's edges have
// not.
std::vector<bool> steady_lines(const SteppedOut& out, int step) {
  const std::size_t count = out.whole.size();
  std::vector<bool> steady(count, true);
  const auto compare = [&](const Values& a, const Values& b, const Values& c, const Values& d) {
    Values difference(count);
    for (std::size_t i = 0; i < count; ++i) difference[i] = 0.5 * (a[i] + b[i] - c[i] - d[i]);
    const double most = kOdd * std::max(spread(difference), kLeastSpread);
    for (std::size_t i = 0; i < count; ++i)
      steady[i] = steady[i] && std::abs(difference[i]) <= most;
  };
  compare(out.part[0][0], out.part[1][0], out.part[0][1], out.part[1][1]);
  compare(out.part[0][0], out.part[0][1], out.part[1][0], out.part[1][1]);
  for (std::size_t i = 0; i < static_cast<std::size_t>(step); ++i)
    steady[i] = steady[count - 1 - i] = false;
  return steady;
}

Values second_difference(const Values& values, std::size_t step) {
  Values out(values.size(), 0);
  for (std::size_t i = step; i + step < values.size(); ++i)
    out[i] = values[i] - 0.5 * (values[i - step] + values[i + step]);
  return out;
}

// Whether the lines that an operator reaches, that many steps to both sides, are all steady.
std::vector<bool> reached(std::vector<bool> steady, std::size_t step, int steps) {
  for (int k = 0; k < steps; ++k) {
    std::vector<bool> next(steady.size(), false);
    for (std::size_t i = step; i + step < steady.size(); ++i)
      next[i] = steady[i - step] && steady[i] && steady[i + step];
    steady = std::move(next);
  }
  return steady;
}

// Eighth differences of the lines around which all are steady.
Values finest(const Values& stepped_out, const std::vector<bool>& steady, std::size_t step) {
  Values values = stepped_out;
  for (int k = 0; k < 3; ++k) values = second_difference(values, step);
  const std::vector<bool> whole = reached(steady, step, 3);
  Values out;
  for (std::size_t i = 0; i < values.size(); ++i) {
    if (whole[i]) out.push_back(values[i]);
  }
  return out;
}

struct Moments {
  double covariance = 0;
  double correlation = 0;
};

Moments moments(const Values& a, const Values& b) {
  const auto n = static_cast<double>(a.size());
  const double mean_a = std::accumulate(a.begin(), a.end(), 0.0) / n;
  const double mean_b = std::accumulate(b.begin(), b.end(), 0.0) / n;
  double aa = 0;
  double bb = 0;
  double ab = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    aa += (a[i] - mean_a) * (a[i] - mean_a);
    bb += (b[i] - mean_b) * (b[i] - mean_b);
    ab += (a[i] - mean_a) * (b[i] - mean_b);
  }
  return {ab / n, aa > 0 && bb > 0 ? ab / std::sqrt(aa * bb) : 0};
}

double dot(const Values& a, const Values& b) {
  return std::inner_product(a.begin(), a.end(), b.begin(), 0.0);
}

// The offsets c that are as small as their fourth differences D D c allow, which are known at some
// lines: D D h of the second differences h that were measured. A wave passes by d^4 / (d^4 +
// half^4).
class Solver {
 public:
  Solver(const Values& stepped_out, const std::vector<bool>& steady, std::size_t step)
      : step_(step), known_(reached(steady, step, 1)), wanted_(masked(stepped_out)) {}

  // Conjugate gradients (Hestenes & Stiefel 1952).
  [[nodiscard]] Values offsets(double half_at) const {
    constexpr int kMostSteps = 2000;
    constexpr double kExact = 1e-12;  // of the first residual's power
    Values residual = transposed(wanted_);
    Values offset(residual.size(), 0);
    Values direction = residual;
    double power = dot(residual, residual);
    const double enough = kExact * power;
    for (int k = 0; k < kMostSteps && power > enough; ++k) {
      const Values product = normal_product(direction, std::pow(half_at, 4));
      const double length = power / dot(direction, product);
      for (std::size_t i = 0; i < offset.size(); ++i) {
        offset[i] += length * direction[i];
        residual[i] -= length * product[i];
      }
      const double before = power;
      power = dot(residual, residual);
      for (std::size_t i = 0; i < offset.size(); ++i)
        direction[i] = residual[i] + power / before * direction[i];
    }
    return offset;
  }

 private:
  // Second differences where all that they come from is known.
  [[nodiscard]] Values masked(const Values& values) const {
    Values out = second_difference(values, step_);
    for (std::size_t i = 0; i < out.size(); ++i) out[i] = known_[i] ? out[i] : 0;
    return out;
  }

  // The transpose of second_difference(), twice.
  [[nodiscard]] Values transposed(Values values) const {
    for (int k = 0; k < 2; ++k) {
      Values out(values.size(), 0);
      for (std::size_t i = step_; i + step_ < values.size(); ++i) {
        out[i] += values[i];
        out[i - step_] -= 0.5 * values[i];
        out[i + step_] -= 0.5 * values[i];
      }
      values = std::move(out);
    }
    return values;
  }

  [[nodiscard]] Values normal_product(const Values& offset, double least) const {
    Values out = transposed(masked(second_difference(offset, step_)));
    for (std::size_t i = 0; i < out.size(); ++i) out[i] += least * offset[i];
    return out;
  }

  std::size_t step_;
  std::vector<bool> known_;
  Values wanted_;
};

// The power that white noise of power 1 keeps.
double white_power(double half_at) {
  constexpr int kWaves = 512;
  double sum = 0;
  for (int k = 0; k < kWaves; ++k) {
    const double d = std::pow(1 - std::cos(std::numbers::pi * (k + 0.5) / kWaves), 4);
    const double part = d / (d + std::pow(half_at, 4));
    sum += part * part;
  }
  return sum / kWaves;
}

// As coarse as goes without taking in what the finest differences do not let expect: the scene.
std::vector<float> white_offsets(const Solver& solver, double rms) {
  Values offset;
  for (const double half_at : kHalfAt) {
    offset = solver.offsets(half_at);
    const double power = dot(offset, offset) / static_cast<double>(offset.size());
    if (power <= kMuchPower * rms * rms * white_power(half_at)) break;
  }
  return {offset.begin(), offset.end()};
}

LineOffsets offsets_of(const Lines& lines) {
  LineOffsets out;
  if (lines.count() < kFewestLines || lines.length() < kFewestLines) return out;
  const auto step = static_cast<std::size_t>(lines.step);
  const SteppedOut stepped = stepped_out(lines);
  const std::vector<bool> steady = steady_lines(stepped, lines.step);
  const auto compared = [&](std::size_t end) {
    return moments(finest(stepped.part[0][end], steady, step),
                   finest(stepped.part[1][1 - end], steady, step));
  };
  const std::size_t used = finest(stepped.whole, steady, step).size();
  if (used < kFewestLines / 2) return out;
  const Moments one = compared(0);
  const Moments other = compared(1);
  out.agreement = 0.5 * (one.correlation + other.correlation);
  out.rms = std::sqrt(std::max(0.5 * (one.covariance + other.covariance), 0.0) / kEighthPower);
  const double chance = kSigmas * std::sqrt(0.5 * kShared / static_cast<double>(used));
  if (out.agreement < std::max(kAgreement, chance)) return out;
  out.offset = white_offsets(Solver(stepped.whole, steady, step), out.rms);
  return out;
}

}  // namespace

bool PatternNoise::significant() const {
  return std::any_of(planes.begin(), planes.end(), [](const PatternOfPlane& plane) {
    return plane.columns.significant() || plane.rows.significant();
  });
}

double PatternNoise::columns_rms_adu() const {
  double sum = 0;
  for (const PatternOfPlane& plane : planes) sum += plane.columns.rms * plane.columns.rms;
  return planes.empty() ? 0 : adu_per_unit * std::sqrt(sum / static_cast<double>(planes.size()));
}

double PatternNoise::rows_rms_adu() const {
  double sum = 0;
  for (const PatternOfPlane& plane : planes) sum += plane.rows.rms * plane.rows.rms;
  return planes.empty() ? 0 : adu_per_unit * std::sqrt(sum / static_cast<double>(planes.size()));
}

std::string PatternNoise::text() const {
  bool columns = false;
  bool rows = false;
  for (const PatternOfPlane& plane : planes) {
    columns = columns || plane.columns.significant();
    rows = rows || plane.rows.significant();
  }
  std::string out;
  if (columns) out = fmt::format("columns by {:.2g} ADU", columns_rms_adu());
  if (columns && rows) out += " and ";
  if (rows) out += fmt::format("rows by {:.2g} ADU", rows_rms_adu());
  return out + " rms";
}

void PatternNoise::add_to(MutablePlaneView target, std::size_t plane) const {
  const PatternOfPlane& pattern = planes[plane];
  for (int y = 0; y < target.height_px; ++y) {
    float* row = target.row(y);
    const float of_row =
        pattern.rows.significant() ? pattern.rows.offset[static_cast<std::size_t>(y)] : 0;
    for (int x = 0; x < target.width_px; ++x) {
      row[x] += of_row;
      if (pattern.columns.significant())
        row[x] += pattern.columns.offset[static_cast<std::size_t>(x)];
    }
  }
}

PatternNoise measure_pattern(const capture::CaptureInfo& info, const SensorSum& sum) {
  PatternNoise out;
  out.adu_per_unit = info.scale.per_unit * static_cast<double>((1 << info.bits.used) - 1);
  const std::int64_t fewest = kFewestFrames / 2;
  if (info.colour == capture::Colour::yuv || info.cfa_doubtful || sum.frames[0] < fewest ||
      sum.frames[1] < fewest)
    return out;
  for (std::size_t p = 0; p < sum.halves[0].size(); ++p) {
    Lines lines{{sum.halves[0][p].view(), sum.halves[1][p].view()},
                {1 / static_cast<float>(sum.frames[0]), 1 / static_cast<float>(sum.frames[1])},
                true,
                info.colour == capture::Colour::cfa ? 2 : 1};
    PatternOfPlane plane;
    plane.columns = offsets_of(lines);
    lines.columns = false;
    plane.rows = offsets_of(lines);
    out.planes.push_back(std::move(plane));
  }
  return out;
}

}  // namespace lull::calibrate
