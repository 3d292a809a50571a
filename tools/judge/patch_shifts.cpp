#include "judge/patch_shifts.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "core/parallel.h"
#include "core/statistics.h"
#include "spectrum/fft.h"

namespace lull::judge {

namespace {

constexpr int kPatchPx = 96;
constexpr int kSpacingPx = 48;
constexpr int kFurthestPx = kPatchPx / 3;
constexpr double kLeastCorrelation = 0.5;
constexpr double kLeastDetail = 5e-4;  // rms of the filtered scene, of its brightest place
constexpr double kRoundness = 0.08;    // of the peak: an edge alone says nothing along itself

// What one thread needs for correlating patches.
class Correlator {
 public:
  Correlator() : fft_({kPatchPx, kPatchPx}), window_(spectrum::tukey_window(kPatchPx, 0.6)) {}

  // Spectrum of the detail of a patch: differences of Gaussians of 1.2 and 6 px.
  spectrum::Spectrum detail(PlaneView patch) {
    spectrum::Spectrum bins = spectrum::windowed_spectrum(patch, window_, window_, fft_);
    for (int r = 0; r < bins.rows(); ++r) {
      for (int c = 0; c < bins.columns(); ++c) {
        const double f2 = std::pow(bins.frequency_x(c), 2) + std::pow(bins.frequency_y(r), 2);
        const auto gauss = [f2](double sigma) { return std::exp(-19.739 * sigma * sigma * f2); };
        bins.row(r)[c] *= static_cast<float>(gauss(1.2) - gauss(6));
      }
    }
    return bins;
  }

  // Correlation of two details as a picture; displacement (0, 0) is its first pixel.
  const Plane& correlated(const spectrum::Spectrum& a, const spectrum::Spectrum& b) {
    spectrum::Spectrum product({kPatchPx, kPatchPx});
    for (int r = 0; r < product.rows(); ++r) {
      for (int c = 0; c < product.columns(); ++c)
        product.row(r)[c] = a.row(r)[c] * std::conj(b.row(r)[c]);
    }
    fft_.inverse(product, peak_.view());
    return peak_;
  }

 private:
  spectrum::Fft fft_;
  std::vector<float> window_;
  Plane peak_{kPatchPx, kPatchPx};
};

// Sum of squares of a detail, in the units of correlated().
double power(const spectrum::Spectrum& a) {
  double sum = 0;
  for (int r = 0; r < a.rows(); ++r) {
    for (int c = 0; c < a.columns(); ++c)
      sum += a.multiplicity(c) * static_cast<double>(std::norm(a.row(r)[c]));
  }
  return sum / (kPatchPx * kPatchPx);
}

struct Peak {
  Displacement at;
  double height = 0;
  double roundness = 0;  ///< smaller curvature over the larger
};

// The highest place within reach, by a paraboloid through its neighbours.
std::optional<Peak> highest(const Plane& picture) {
  const auto value = [&](int x, int y) {
    return static_cast<double>(picture.row((y + kPatchPx) % kPatchPx)[(x + kPatchPx) % kPatchPx]);
  };
  int px = 0;
  int py = 0;
  for (int y = -kFurthestPx; y <= kFurthestPx; ++y) {
    for (int x = -kFurthestPx; x <= kFurthestPx; ++x) {
      if (value(x, y) > value(px, py)) {
        px = x;
        py = y;
      }
    }
  }
  if (std::max(std::abs(px), std::abs(py)) == kFurthestPx) return std::nullopt;
  const double middle = value(px, py);
  const double gx = (value(px + 1, py) - value(px - 1, py)) / 2;
  const double gy = (value(px, py + 1) - value(px, py - 1)) / 2;
  const double xx = value(px + 1, py) - 2 * middle + value(px - 1, py);
  const double yy = value(px, py + 1) - 2 * middle + value(px, py - 1);
  const double xy = (value(px + 1, py + 1) - value(px - 1, py + 1) - value(px + 1, py - 1) +
                     value(px - 1, py - 1)) /
                    4;
  const double determinant = xx * yy - xy * xy;
  if (!(xx < 0 && determinant > 0)) return std::nullopt;
  const double dx = std::clamp(-(yy * gx - xy * gy) / determinant, -1.0, 1.0);
  const double dy = std::clamp(-(xx * gy - xy * gx) / determinant, -1.0, 1.0);
  const double half = -(xx + yy) / 2;
  const double spread = std::sqrt(std::max(half * half - determinant, 0.0));
  return Peak{
      {px + dx, py + dy}, middle + 0.5 * (gx * dx + gy * dy), (half - spread) / (half + spread)};
}

bool all_covered(const Plane& covered, int x0, int y0) {
  for (int y = y0; y < y0 + kPatchPx; y += 4) {
    for (int x = x0; x < x0 + kPatchPx; x += 4) {
      if (covered.row(y)[x] < 1) return false;
    }
  }
  return true;
}

enum class Answer { found, no_detail, not_found };

struct Measured {
  Answer answer = Answer::no_detail;
  PatchShift shift;
};

// Twice, the second time with the patch of the picture moved, so that both show the same.
Measured measured(PlaneView scene, const Brought& picture, int x0, int y0, Correlator& work) {
  Measured out;
  if (!all_covered(picture.covered, x0, y0)) return out;
  const auto part = [](PlaneView plane, int x, int y) {
    return plane.crop({x, y, x + kPatchPx, y + kPatchPx});
  };
  const spectrum::Spectrum wanted = work.detail(part(scene, x0, y0));
  const double own = power(wanted);
  if (std::sqrt(own) / kPatchPx < kLeastDetail) return out;
  const std::optional<Peak> itself = highest(work.correlated(wanted, wanted));
  if (!itself || itself->roundness < kRoundness) return out;
  out.answer = Answer::not_found;
  Place moved;
  for (int round = 0; round < 2; ++round) {
    const int x = std::clamp(x0 + moved.x, 0, scene.width_px - kPatchPx);
    const int y = std::clamp(y0 + moved.y, 0, scene.height_px - kPatchPx);
    const spectrum::Spectrum seen = work.detail(part(picture.light.view(), x, y));
    const std::optional<Peak> peak = highest(work.correlated(seen, wanted));
    if (!peak) return out;
    const Displacement all{peak->at.x_px + x - x0, peak->at.y_px + y - y0};
    out.shift = {x0 + 0.5 * (kPatchPx - 1), y0 + 0.5 * (kPatchPx - 1), all,
                 peak->height / std::sqrt(std::max(own * power(seen), 1e-30))};
    moved = {static_cast<int>(std::lround(all.x_px)), static_cast<int>(std::lround(all.y_px))};
  }
  if (out.shift.correlation >= kLeastCorrelation) out.answer = Answer::found;
  return out;
}

struct Solved {
  PoseChange change;
  bool known = false;
};

// The four unknowns fall apart once places are taken from their mean.
Solved least_squares(const std::vector<PatchShift>& shifts, const std::vector<bool>& used,
                     Displacement middle) {
  double count = 0;
  Displacement place;
  Displacement shift;
  for (std::size_t i = 0; i < shifts.size(); ++i) {
    if (!used[i]) continue;
    ++count;
    place = place + Displacement{shifts[i].x - middle.x_px, shifts[i].y - middle.y_px};
    shift = shift + shifts[i].shift;
  }
  if (count < 3) return {};
  place = {place.x_px / count, place.y_px / count};
  shift = {shift.x_px / count, shift.y_px / count};
  double squares = 0;
  double along = 0;
  double across = 0;
  for (std::size_t i = 0; i < shifts.size(); ++i) {
    if (!used[i]) continue;
    const double dx = shifts[i].x - middle.x_px - place.x_px;
    const double dy = shifts[i].y - middle.y_px - place.y_px;
    squares += dx * dx + dy * dy;
    along += dx * shifts[i].shift.x_px + dy * shifts[i].shift.y_px;
    across += dx * shifts[i].shift.y_px - dy * shifts[i].shift.x_px;
  }
  if (squares <= 0) return {};
  Solved out{{{}, along / squares, across / squares}, true};
  out.change.moved = shift - out.change.at(place.x_px, place.y_px);
  return out;
}

std::vector<double> lengths_left(const std::vector<PatchShift>& shifts, const PoseChange& change,
                                 Displacement middle) {
  std::vector<double> out;
  out.reserve(shifts.size());
  for (const PatchShift& one : shifts) {
    const Displacement left = one.shift - change.at(one.x - middle.x_px, one.y - middle.y_px);
    out.push_back(std::hypot(left.x_px, left.y_px));
  }
  return out;
}

double rms(const std::vector<double>& values) {
  double squares = 0;
  for (const double v : values) squares += v * v;
  return std::sqrt(squares / static_cast<double>(std::max<std::size_t>(values.size(), 1)));
}

}  // namespace

PatchShifts find_patch_shifts(PlaneView scene, const Brought& picture) {
  PatchShifts out;
  out.spacing_px = kSpacingPx;
  out.columns = std::max((scene.width_px - kPatchPx) / kSpacingPx + 1, 0);
  out.rows = std::max((scene.height_px - kPatchPx) / kSpacingPx + 1, 0);
  std::vector<std::vector<Measured>> rows(static_cast<std::size_t>(out.rows));
  parallel_for(out.rows, [&](std::int64_t j) {
    Correlator work;
    std::vector<Measured>& row = rows[static_cast<std::size_t>(j)];
    row.reserve(static_cast<std::size_t>(out.columns));
    for (int i = 0; i < out.columns; ++i)
      row.push_back(
          measured(scene, picture, i * kSpacingPx, static_cast<int>(j) * kSpacingPx, work));
  });
  for (const auto& row : rows) {
    for (const Measured& one : row) {
      if (one.answer == Answer::found) out.found.push_back(one.shift);
      if (one.answer == Answer::not_found) ++out.not_found;
    }
  }
  return out;
}

ShiftMap::ShiftMap(const PatchShifts& shifts)
    : spacing_px_(shifts.spacing_px), columns_(shifts.columns), rows_(shifts.rows) {
  const auto count = static_cast<std::size_t>(columns_) * static_cast<std::size_t>(rows_);
  std::vector<const PatchShift*> at(count, nullptr);
  for (const PatchShift& one : shifts.found) {
    const auto i = static_cast<std::size_t>((one.x - 0.5 * (kPatchPx - 1)) / spacing_px_ + 0.5);
    const auto j = static_cast<std::size_t>((one.y - 0.5 * (kPatchPx - 1)) / spacing_px_ + 0.5);
    at[j * static_cast<std::size_t>(columns_) + i] = &one;
  }
  nodes_.resize(count);
  // Each node follows its own patch, and where that is missing those around it, near or far.
  constexpr int kReach = 10;
  for (int j = 0; j < rows_; ++j) {
    for (int i = 0; i < columns_; ++i) {
      double weights = 1e-12;
      Displacement sum;
      for (int v = std::max(j - kReach, 0); v <= std::min(j + kReach, rows_ - 1); ++v) {
        for (int u = std::max(i - kReach, 0); u <= std::min(i + kReach, columns_ - 1); ++u) {
          const PatchShift* one =
              at[static_cast<std::size_t>(v) * static_cast<std::size_t>(columns_) +
                 static_cast<std::size_t>(u)];
          if (one == nullptr) continue;
          const int d2 = (u - i) * (u - i) + (v - j) * (v - j);
          const double weight = std::exp(-2.5 * d2) + 1e-5 * std::exp(-0.05 * d2);
          weights += weight;
          sum = sum + Displacement{weight * one->shift.x_px, weight * one->shift.y_px};
        }
      }
      nodes_[static_cast<std::size_t>(j) * static_cast<std::size_t>(columns_) +
             static_cast<std::size_t>(i)] = {sum.x_px / weights, sum.y_px / weights};
    }
  }
}

Displacement ShiftMap::at(double x, double y) const {
  if (columns_ < 2 || rows_ < 2) return nodes_.empty() ? Displacement{} : nodes_.front();
  const double u = std::clamp((x - 0.5 * (kPatchPx - 1)) / spacing_px_, 0.0, columns_ - 1.0);
  const double v = std::clamp((y - 0.5 * (kPatchPx - 1)) / spacing_px_, 0.0, rows_ - 1.0);
  const int i = std::min(static_cast<int>(u), columns_ - 2);
  const int j = std::min(static_cast<int>(v), rows_ - 2);
  const Displacement* upper =
      &nodes_[static_cast<std::size_t>(j) * static_cast<std::size_t>(columns_) +
              static_cast<std::size_t>(i)];
  const Displacement* lower = upper + columns_;
  const auto mix = [&](double Displacement::*part) {
    const double top = upper[0].*part + (u - i) * (upper[1].*part - upper[0].*part);
    const double bottom = lower[0].*part + (u - i) * (lower[1].*part - lower[0].*part);
    return top + (v - j) * (bottom - top);
  };
  return {mix(&Displacement::x_px), mix(&Displacement::y_px)};
}

PoseChange fit_change(const std::vector<PatchShift>& shifts, Displacement middle) {
  std::vector<bool> used(shifts.size(), true);
  PoseChange change;
  for (int round = 0; round < 4; ++round) {
    const Solved solved = least_squares(shifts, used, middle);
    if (!solved.known) return change;
    change = solved.change;
    const std::vector<double> left = lengths_left(shifts, change, middle);
    const double bound = std::max(4 * median(left), 0.05);
    for (std::size_t i = 0; i < left.size(); ++i) used[i] = left[i] <= bound;
  }
  return change;
}

double rms_left(const std::vector<PatchShift>& shifts, Displacement middle) {
  return rms(lengths_left(shifts, fit_change(shifts, middle), middle));
}

Distortion3000 left_in_windows(const std::vector<PatchShift>& shifts, Size scene) {
  constexpr int kWindowPx = 3000;
  constexpr std::size_t kLeastPatches = 12;
  const auto starts = [](int side) {
    const int count = std::max((2 * side + kWindowPx - 1) / kWindowPx - 1, 1);
    std::vector<double> out;
    for (int i = 0; i < count; ++i)
      out.push_back(count > 1 ? static_cast<double>(i) * (side - kWindowPx) / (count - 1) : 0);
    return out;
  };
  Distortion3000 out;
  double squares = 0;
  double count = 0;
  for (const double y0 : starts(scene.height_px)) {
    for (const double x0 : starts(scene.width_px)) {
      std::vector<PatchShift> inside;
      std::copy_if(
          shifts.begin(), shifts.end(), std::back_inserter(inside), [=](const PatchShift& one) {
            return one.x >= x0 && one.x < x0 + kWindowPx && one.y >= y0 && one.y < y0 + kWindowPx;
          });
      if (inside.size() < kLeastPatches) continue;
      const double here = rms_left(inside, {x0 + 0.5 * kWindowPx, y0 + 0.5 * kWindowPx});
      squares += here * here * static_cast<double>(inside.size());
      count += static_cast<double>(inside.size());
      out.worst_px = std::max(out.worst_px, here);
    }
  }
  out.rms_px = std::sqrt(squares / std::max(count, 1.0));
  return out;
}

}  // namespace lull::judge
