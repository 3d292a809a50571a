#include "align/shift_prior.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>
#include <utility>

namespace lull::align {

namespace {

using Bin = std::complex<float>;

// Transforms repeat: places at one edge must not be neighbours of those at the other.
constexpr double kMarginPx = 96;
// Standard deviation of the whole shift that tracking leaves: wide enough to be free.
constexpr double kWholePx = 5;
constexpr int kMostSteps = 25;

void reset(const Size size, ShiftPrior::Modes& modes) {
  for (auto* part : {&modes.slope, &modes.turn}) {
    if (part->plane_size() != size) *part = spectrum::Spectrum(size);
    part->clear();
  }
  modes.whole_x = 0;
  modes.whole_y = 0;
}

}  // namespace

ShiftPrior::ShiftPrior(Size grid, double step_px, const ShiftPriorOptions& options)
    : grid_(grid),
      accuracy_(options.accuracy),
      turning_(static_cast<float>(std::sqrt(options.turning))) {
  const int margin = static_cast<int>(std::ceil(kMarginPx / step_px));
  padded_ = {spectrum::fast_length_above(grid.width_px + margin),
             spectrum::fast_length_above(grid.height_px + margin)};
  const spectrum::Spectrum bins(padded_);
  const double decay = options.decay_px / step_px;
  const double peak = options.variance_px2 * decay * decay / (2 * std::numbers::pi);
  for (int r = 0; r < bins.rows(); ++r) {
    for (int c = 0; c < bins.columns(); ++c) {
      const double fx = bins.frequency_x(c);
      const double fy = bins.frequency_y(r);
      const double f = std::hypot(fx, fy);
      // The slope of the highest frequencies is not that of a real field.
      const bool used = f > 0 && fx < 0.5 && std::abs(fy) < 0.5;
      const double amplitude = used ? std::sqrt(peak * std::exp(-decay * f)) / f : 0;
      along_x_.push_back(static_cast<float>(amplitude * fx));
      along_y_.push_back(static_cast<float>(amplitude * fy));
    }
  }
}

void ShiftPrior::prepare(Workspace& work) const {
  if (!work.fft || work.fft->size() != padded_) work.fft.emplace(padded_);
  for (Plane* plane : {&work.padded, &work.x, &work.y}) {
    if (plane->size() != padded_) *plane = Plane(padded_);
  }
  if (work.bins.plane_size() != padded_) work.bins = spectrum::Spectrum(padded_);
  for (Modes* modes : {&work.right, &work.residual, &work.direction, &work.image})
    reset(padded_, *modes);
}

// Into work.x and work.y, whose margin then holds nothing of use.
void ShiftPrior::to_field(const Modes& modes, Workspace& work) const {
  // Transforms of unit length: the inverse one divides by the area.
  const auto scale = static_cast<float>(std::sqrt(static_cast<double>(padded_.area_px())));
  for (const bool across : {true, false}) {
    std::size_t i = 0;
    for (int r = 0; r < work.bins.rows(); ++r) {
      const Bin* slope = modes.slope.row(r);
      const Bin* turn = modes.turn.row(r);
      Bin* out = work.bins.row(r);
      for (int c = 0; c < work.bins.columns(); ++c, ++i) {
        const float of_slope = scale * (across ? along_x_[i] : along_y_[i]);
        const float of_turn = scale * turning_ * (across ? -along_y_[i] : along_x_[i]);
        const Bin sum{of_slope * slope[c].real() + of_turn * turn[c].real(),
                      of_slope * slope[c].imag() + of_turn * turn[c].imag()};
        out[c] = {-sum.imag(), sum.real()};
      }
    }
    Plane& plane = across ? work.x : work.y;
    work.fft->inverse(work.bins, plane.view());
    const auto whole = static_cast<float>(kWholePx * (across ? modes.whole_x : modes.whole_y));
    for (int r = 0; r < grid_.height_px; ++r) {
      for (int c = 0; c < grid_.width_px; ++c) plane.row(r)[c] += whole;
    }
  }
}

// The transpose of to_field(), of work.x and work.y.
void ShiftPrior::to_modes(Workspace& work, Modes& out) const {
  const float scale = 1 / static_cast<float>(std::sqrt(static_cast<double>(padded_.area_px())));
  for (const bool across : {true, false}) {
    const Plane& plane = across ? work.x : work.y;
    double total = 0;
    work.padded.fill(0);
    for (int r = 0; r < grid_.height_px; ++r) {
      for (int c = 0; c < grid_.width_px; ++c) {
        work.padded.row(r)[c] = plane.row(r)[c];
        total += static_cast<double>(plane.row(r)[c]);
      }
    }
    (across ? out.whole_x : out.whole_y) = kWholePx * total;
    work.fft->forward(std::as_const(work.padded).view(), work.bins);
    std::size_t i = 0;
    for (int r = 0; r < work.bins.rows(); ++r) {
      const Bin* in = work.bins.row(r);
      Bin* slope = out.slope.row(r);
      Bin* turn = out.turn.row(r);
      for (int c = 0; c < work.bins.columns(); ++c, ++i) {
        const Bin turned{scale * in[c].imag(), -scale * in[c].real()};
        const float of_slope = across ? along_x_[i] : along_y_[i];
        const float of_turn = turning_ * (across ? -along_y_[i] : along_x_[i]);
        slope[c] = (across ? Bin{} : slope[c]) + of_slope * turned;
        turn[c] = (across ? Bin{} : turn[c]) + of_turn * turned;
      }
    }
  }
}

// Identity, and the precisions as the modes see them.
void ShiftPrior::apply(const Observations& seen, const Modes& in, Workspace& work,
                       Modes& out) const {
  to_field(in, work);
  std::size_t i = 0;
  for (int r = 0; r < grid_.height_px; ++r) {
    float* x = work.x.row(r);
    float* y = work.y.row(r);
    for (int c = 0; c < grid_.width_px; ++c, ++i) {
      const float old_x = x[c];
      x[c] = seen.xx[i] * old_x + seen.xy[i] * y[c];
      y[c] = seen.xy[i] * old_x + seen.yy[i] * y[c];
    }
  }
  to_modes(work, out);
  add(1, in, 1, out);
}

double ShiftPrior::dot(const Modes& a, const Modes& b) const {
  double sum = a.whole_x * b.whole_x + a.whole_y * b.whole_y;
  for (int r = 0; r < a.slope.rows(); ++r) {
    for (int c = 0; c < a.slope.columns(); ++c) {
      const auto product = [&](const Bin& p, const Bin& q) {
        return static_cast<double>(p.real() * q.real() + p.imag() * q.imag());
      };
      sum += a.slope.multiplicity(c) * (product(a.slope.row(r)[c], b.slope.row(r)[c]) +
                                        product(a.turn.row(r)[c], b.turn.row(r)[c]));
    }
  }
  return sum;
}

// to = keep * to + factor * from
void ShiftPrior::add(double factor, const Modes& from, double keep, Modes& to) {
  const auto f = static_cast<float>(factor);
  const auto k = static_cast<float>(keep);
  for (int r = 0; r < from.slope.rows(); ++r) {
    for (int c = 0; c < from.slope.columns(); ++c) {
      to.slope.row(r)[c] = k * to.slope.row(r)[c] + f * from.slope.row(r)[c];
      to.turn.row(r)[c] = k * to.turn.row(r)[c] + f * from.turn.row(r)[c];
    }
  }
  to.whole_x = keep * to.whole_x + factor * from.whole_x;
  to.whole_y = keep * to.whole_y + factor * from.whole_y;
}

void ShiftPrior::predict(const Observations& seen, Start start, Workspace& work,
                         std::vector<float>& x, std::vector<float>& y) const {
  prepare(work);
  std::size_t i = 0;
  for (int r = 0; r < grid_.height_px; ++r) {
    for (int c = 0; c < grid_.width_px; ++c, ++i) {
      work.x.row(r)[c] = seen.x[i];
      work.y.row(r)[c] = seen.y[i];
    }
  }
  to_modes(work, work.right);
  if (start == Start::zero || work.found.slope.plane_size() != padded_) {
    reset(padded_, work.found);
  } else {
    apply(seen, work.found, work, work.residual);
  }
  add(1, work.right, -1, work.residual);
  add(1, work.residual, 0, work.direction);
  double left = dot(work.residual, work.residual);
  const double enough = accuracy_ * accuracy_ * dot(work.right, work.right);
  for (int step = 0; step < kMostSteps && left > enough; ++step) {
    apply(seen, work.direction, work, work.image);
    const double length = left / dot(work.direction, work.image);
    add(length, work.direction, 1, work.found);
    add(-length, work.image, 1, work.residual);
    const double now = dot(work.residual, work.residual);
    add(1, work.residual, now / left, work.direction);
    left = now;
  }
  to_field(work.found, work);
  x.resize(static_cast<std::size_t>(grid_.area_px()));
  y.resize(x.size());
  i = 0;
  for (int r = 0; r < grid_.height_px; ++r) {
    for (int c = 0; c < grid_.width_px; ++c, ++i) {
      x[i] = work.x.row(r)[c];
      y[i] = work.y.row(r)[c];
    }
  }
}

}  // namespace lull::align
