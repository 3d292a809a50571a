#include "lab/screen.h"

#include <algorithm>
#include <cmath>
#include <complex>
#include <numbers>

#include "core/parallel.h"
#include "lab/random.h"
#include "spectrum/fft.h"

namespace lull::lab {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kSubharmonicRings = 4;
constexpr double kSteepBins =
    6;  // from the centre of the spectrum: beyond, a bin has the value at its centre

// Phase power at frequency f in cycles a step, rad^2 step^2.
double power(double f, double r0_steps, double outer_scale_steps) {
  const double low = outer_scale_steps > 0 ? 1 / outer_scale_steps : 0;
  // Exact constant of the structure function 6.88 (r / r0)^(5/3): references as in screen.h.
  constexpr double kConstant = 0.022896;
  return kConstant * std::pow(r0_steps, -5.0 / 3) * std::pow(f * f + low * low, -11.0 / 6);
}

// Power of a bin. The spectrum is so steep that the value at the centre of a bin does not give its
// effect on phase differences. So f^2 times the power is averaged over the bin.
double power_of_bin(double fx, double fy, double width, double r0_steps, double outer_scale_steps) {
  constexpr int kParts = 12;
  double sum = 0;
  for (int j = 0; j < kParts; ++j) {
    for (int i = 0; i < kParts; ++i) {
      const double x = fx + width * ((i + 0.5) / kParts - 0.5);
      const double y = fy + width * ((j + 0.5) / kParts - 0.5);
      sum += (x * x + y * y) * power(std::hypot(x, y), r0_steps, outer_scale_steps);
    }
  }
  return sum / (kParts * kParts) / (fx * fx + fy * fy);
}

}  // namespace

PhaseScreen::PhaseScreen(int side, double r0_steps, double outer_scale_steps, std::uint64_t seed,
                         std::uint64_t number)
    : side_(side), phase_(side, side) {
  // White noise through the square root of the power: real both ways, and each row has its own
  // random numbers.
  parallel_for(side, [&](std::int64_t y) {
    Random random({seed, key_of(Draw::screen), number, static_cast<std::uint64_t>(y)});
    float* row = phase_.row(static_cast<int>(y));
    for (int x = 0; x < side; ++x) row[x] = static_cast<float>(random.normal());
  });
  spectrum::Fft fft(phase_.size());
  spectrum::Spectrum spectrum(phase_.size());
  fft.forward(phase_.view(), spectrum);
  for (int r = 0; r < spectrum.rows(); ++r) {
    auto* bins = spectrum.row(r);
    for (int c = 0; c < spectrum.columns(); ++c) {
      const double fx = spectrum.frequency_x(c);
      const double fy = spectrum.frequency_y(r);
      const double f = std::hypot(fx, fy);
      const double density = f == 0 ? 0
                             : f * side < kSteepBins
                                 ? power_of_bin(fx, fy, 1.0 / side, r0_steps, outer_scale_steps)
                                 : power(f, r0_steps, outer_scale_steps);
      // The transform of unit white noise has variance side^2 a bin; a bin is 1 / side wide.
      bins[c] *= static_cast<float>(std::sqrt(density));
    }
  }
  fft.inverse(spectrum, phase_.view());
  add_subharmonics(r0_steps, outer_scale_steps, seed, number);
}

void PhaseScreen::add_subharmonics(double r0_steps, double outer_scale_steps, std::uint64_t seed,
                                   std::uint64_t number) {
  Random random({seed, key_of(Draw::screen), number, static_cast<std::uint64_t>(side_)});
  double spacing = 1.0 / side_;
  for (int ring = 0; ring < kSubharmonicRings; ++ring) {
    spacing /= 3;
    for (int j = -1; j <= 1; ++j) {
      for (int i = -1; i <= 1; ++i) {
        const double sine = random.normal();
        const double cosine = random.normal();
        if (i == 0 && j == 0) continue;
        const double density =
            power_of_bin(spacing * i, spacing * j, spacing, r0_steps, outer_scale_steps);
        // Both signs of a frequency are in the sum, so each carries its own power.
        const double amplitude = std::sqrt(density) * spacing;
        waves_.push_back(
            {2 * kPi * spacing * i, 2 * kPi * spacing * j, amplitude * cosine, amplitude * sine});
      }
    }
  }
}

PhaseScreen::Surroundings PhaseScreen::around(double x, double y) const {
  Surroundings out;
  out.x = x;
  out.y = y;
  for (const Wave& w : waves_) {
    const double angle = w.fx * x + w.fy * y;
    const double c = std::cos(angle);
    const double s = std::sin(angle);
    const double value = w.cosine * c + w.sine * s;
    const double slope = w.sine * c - w.cosine * s;
    out.value += value;
    out.slope_x += w.fx * slope;
    out.slope_y += w.fy * slope;
    out.curve_xx -= w.fx * w.fx * value;
    out.curve_xy -= w.fx * w.fy * value;
    out.curve_yy -= w.fy * w.fy * value;
  }
  return out;
}

double PhaseScreen::interpolated(const Plane& map, double x, double y) const {
  const double x0 = std::floor(x);
  const double y0 = std::floor(y);
  const double tx = x - x0;
  const double ty = y - y0;
  const int mask = side_ - 1;
  const int left = static_cast<int>(static_cast<std::int64_t>(x0) & mask);
  const int top = static_cast<int>(static_cast<std::int64_t>(y0) & mask);
  const float* upper = map.row(top);
  const float* lower = map.row((top + 1) & mask);
  const int right = (left + 1) & mask;
  const auto d = [](float value) { return static_cast<double>(value); };
  return (1 - ty) * ((1 - tx) * d(upper[left]) + tx * d(upper[right])) +
         ty * ((1 - tx) * d(lower[left]) + tx * d(lower[right]));
}

double PhaseScreen::at(double x, double y) const {
  return interpolated(phase_, x, y) + around(x, y).value;
}

void PhaseScreen::add(const Surroundings& place, double dx, double dy, double step,
                      const Pupil& pupil, float factor, std::vector<float>& phase_rad) const {
  const auto f = [](double v) { return static_cast<float>(v); };
  // Slopes and curvatures of the subharmonics at (dx, dy), for both whole and fractional steps.
  const float slope_x = f((place.slope_x + place.curve_xx * dx + place.curve_xy * dy) * step);
  const float slope_y = f((place.slope_y + place.curve_yy * dy + place.curve_xy * dx) * step);
  const float half_xx = f(0.5 * place.curve_xx * step * step);
  const float half_yy = f(0.5 * place.curve_yy * step * step);
  const float curve_xy = f(place.curve_xy * step * step);
  const double x0 = place.x + dx;
  const double y0 = place.y + dy;
  const bool whole = step == 1;
  const std::int64_t left = static_cast<std::int64_t>(std::floor(x0));
  const std::int64_t top = static_cast<std::int64_t>(std::floor(y0));
  const float tx = f(x0 - static_cast<double>(left));
  const float ty = f(y0 - static_cast<double>(top));
  const int mask = side_ - 1;
  for (std::size_t k = 0; k < pupil.points.size(); ++k) {
    const Pupil::Point& point = pupil.points[k];
    float value = 0;
    if (whole) {  // all points have the same offset from the grid
      const auto x = static_cast<int>((left + point.x) & mask);
      const auto y = static_cast<int>((top + point.y) & mask);
      const int right = (x + 1) & mask;
      const float* upper = phase_.row(y);
      const float* lower = phase_.row((y + 1) & mask);
      value = (1 - ty) * ((1 - tx) * upper[x] + tx * upper[right]) +
              ty * ((1 - tx) * lower[x] + tx * lower[right]);
    } else {
      value = f(interpolated(phase_, x0 + step * point.x, y0 + step * point.y));
    }
    const auto x = static_cast<float>(point.x);
    const auto y = static_cast<float>(point.y);
    phase_rad[k] +=
        factor * (value + (slope_x + half_xx * x + curve_xy * y) * x + (slope_y + half_yy * y) * y);
  }
}

void PhaseScreen::prepare_tilts(const Pupil& pupil) {
  Plane weight_x(phase_.size());
  Plane weight_y(phase_.size());
  double sum = 0;
  for (const Pupil::Point& p : pupil.points) sum += p.x * p.x;
  for (const Pupil::Point& p : pupil.points) {
    const int x = (p.x + side_) % side_;
    const int y = (p.y + side_) % side_;
    weight_x.row(y)[x] = static_cast<float>(p.x / sum);
    weight_y.row(y)[x] = static_cast<float>(p.y / sum);
  }
  spectrum::Fft fft(phase_.size());
  spectrum::Spectrum phase(phase_.size());
  spectrum::Spectrum weight(phase_.size());
  fft.forward(phase_.view(), phase);
  const auto correlate = [&](const Plane& weights, Plane& out) {
    fft.forward(weights.view(), weight);
    for (int r = 0; r < phase.rows(); ++r) {
      for (int c = 0; c < phase.columns(); ++c) {
        weight.row(r)[c] = phase.row(r)[c] * std::conj(weight.row(r)[c]);
      }
    }
    out = Plane(phase_.size());
    fft.inverse(weight, out.view());
  };
  correlate(weight_x, tilt_x_);
  correlate(weight_y, tilt_y_);
}

Tilt PhaseScreen::tilt(const Surroundings& place, double dx, double dy) const {
  return {interpolated(tilt_x_, place.x + dx, place.y + dy) + place.slope_x + place.curve_xx * dx +
              place.curve_xy * dy,
          interpolated(tilt_y_, place.x + dx, place.y + dy) + place.slope_y + place.curve_xy * dx +
              place.curve_yy * dy};
}

}  // namespace lull::lab
