#include "judge/transforms.h"

#include <fftw3.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <new>
#include <numbers>

namespace lull::judge {

namespace {

struct DestroyPlan {
  void operator()(fftw_plan plan) const { fftw_destroy_plan(plan); }
};

using Plan = std::unique_ptr<std::remove_pointer_t<fftw_plan>, DestroyPlan>;
using Bins = std::vector<std::complex<double>>;

fftw_complex* as_fftw(Bins& bins) {
  return reinterpret_cast<fftw_complex*>(bins.data());  // documented to have the same layout
}

/// Estimated plans leave their arrays alone, so data may be in place already.
void execute(fftw_plan made) {
  const Plan plan(made);
  if (!plan) throw std::bad_alloc();
  fftw_execute(plan.get());
}

Bins half_spectrum(Image& image) {
  Bins bins(static_cast<std::size_t>(image.height_px) *
            static_cast<std::size_t>(image.width_px / 2 + 1));
  execute(fftw_plan_dft_r2c_2d(image.height_px, image.width_px, image.samples.data(), as_fftw(bins),
                               FFTW_ESTIMATE));
  return bins;
}

Image padded(const Image& image, Size size) {
  Image result(size);
  for (int y = 0; y < image.height_px; ++y) {
    for (int x = 0; x < image.width_px; ++x) result.at(x, y) = image.at(x, y);
  }
  return result;
}

/// FFTW's cosine transforms, scaled to the orthonormal one: `weight` for coefficient 0 and others.
void scale_coefficients(Image& image, double zero_weight, double weight) {
  for (int y = 0; y < image.height_px; ++y) {
    for (int x = 0; x < image.width_px; ++x) {
      image.at(x, y) *= (x == 0 ? zero_weight : weight) * (y == 0 ? zero_weight : weight);
    }
  }
}

/// Gain of the sampled, cut and normalised Gaussian on each of n cosines.
std::vector<double> gaussian_gains(int n, double sigma_px, double truncate) {
  const int radius = static_cast<int>(std::floor(truncate * sigma_px + 0.5));
  std::vector<double> weights;
  double sum = 0;
  for (int i = 0; i <= radius; ++i) {
    weights.push_back(std::exp(-0.5 * i * i / (sigma_px * sigma_px)));
    sum += (i == 0 ? 1 : 2) * weights.back();
  }
  std::vector<double> gains;
  for (int k = 0; k < n; ++k) {
    double gain = weights[0];
    for (int i = 1; i <= radius; ++i) {
      gain += 2 * weights[static_cast<std::size_t>(i)] * std::cos(std::numbers::pi * k * i / n);
    }
    gains.push_back(gain / sum);
  }
  return gains;
}

}  // namespace

std::vector<std::complex<double>> fourier(const Image& image) {
  Bins bins(image.samples.begin(), image.samples.end());
  execute(fftw_plan_dft_2d(image.height_px, image.width_px, as_fftw(bins), as_fftw(bins),
                           FFTW_FORWARD, FFTW_ESTIMATE));
  return bins;
}

double fourier_frequency(int i, int n) {
  return static_cast<double>(i < (n + 1) / 2 ? i : i - n) / n;
}

Image correlate(const Image& a, const Image& b, Size size) {
  Image result = padded(a, size);
  Image other = padded(b, size);
  Bins bins = half_spectrum(result);
  const Bins factors = half_spectrum(other);
  const double scale = 1.0 / static_cast<double>(size.area_px());
  for (std::size_t i = 0; i < bins.size(); ++i) bins[i] *= std::conj(factors[i]) * scale;
  execute(fftw_plan_dft_c2r_2d(size.height_px, size.width_px, as_fftw(bins), result.samples.data(),
                               FFTW_ESTIMATE));
  return result;
}

int fast_length(int n) {
  const auto is_fast = [](int length) {
    for (const int factor : {2, 3, 5}) {
      while (length % factor == 0) length /= factor;
    }
    return length == 1;
  };
  while (!is_fast(n)) ++n;
  return n;
}

Image cosine(const Image& image) {
  Image result = image;
  execute(fftw_plan_r2r_2d(image.height_px, image.width_px, result.samples.data(),
                           result.samples.data(), FFTW_REDFT10, FFTW_REDFT10, FFTW_ESTIMATE));
  const double scale = 0.5 / std::sqrt(static_cast<double>(image.size().area_px()));
  for (double& sample : result.samples) sample *= scale;
  scale_coefficients(result, std::sqrt(0.5), 1);
  return result;
}

Image inverse_cosine(const Image& coefficients) {
  Image result = coefficients;
  const double scale = 0.5 / std::sqrt(static_cast<double>(result.size().area_px()));
  for (double& sample : result.samples) sample *= scale;
  scale_coefficients(result, std::sqrt(2.0), 1);
  execute(fftw_plan_r2r_2d(result.height_px, result.width_px, result.samples.data(),
                           result.samples.data(), FFTW_REDFT01, FFTW_REDFT01, FFTW_ESTIMATE));
  return result;
}

Image gaussian_blur(const Image& image, double sigma_px, double truncate) {
  Image coefficients = cosine(image);
  const auto gains_x = gaussian_gains(image.width_px, sigma_px, truncate);
  const auto gains_y = gaussian_gains(image.height_px, sigma_px, truncate);
  for (int y = 0; y < image.height_px; ++y) {
    for (int x = 0; x < image.width_px; ++x) {
      coefficients.at(x, y) *=
          gains_x[static_cast<std::size_t>(x)] * gains_y[static_cast<std::size_t>(y)];
    }
  }
  return inverse_cosine(coefficients);
}

namespace {

/// What a cosine of the orthonormal series, `length` samples long, is at place i of those that are
/// `scale` apart: at [i * count + k].
std::vector<double> cosines_apart(int length, int count, double scale) {
  std::vector<double> out;
  out.reserve(static_cast<std::size_t>(count) * static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) {
    for (int k = 0; k < count; ++k) {
      out.push_back(std::sqrt((k == 0 ? 1.0 : 2.0) / length) *
                    std::cos(std::numbers::pi * k * (i + 0.5) * scale / length));
    }
  }
  return out;
}

/// By the sum of the series at each place.
Image sampled_apart(const Image& image, double scale) {
  const Size size{static_cast<int>(image.width_px / scale),
                  static_cast<int>(image.height_px / scale)};
  const Image coefficients = cosine(image);
  const std::vector<double> across = cosines_apart(image.width_px, size.width_px, scale);
  const std::vector<double> down = cosines_apart(image.height_px, size.height_px, scale);
  Image rows(size);
  for (int k = 0; k < size.height_px; ++k) {
    for (int x = 0; x < size.width_px; ++x) {
      const double* at = across.data() + std::ptrdiff_t{x} * size.width_px;
      for (int j = 0; j < size.width_px; ++j) rows.at(x, k) += coefficients.at(j, k) * at[j];
    }
  }
  Image out(size);
  for (int y = 0; y < size.height_px; ++y) {
    const double* at = down.data() + std::ptrdiff_t{y} * size.height_px;
    for (int k = 0; k < size.height_px; ++k) {
      for (int x = 0; x < size.width_px; ++x) out.at(x, y) += rows.at(x, k) * at[k];
    }
  }
  return out;
}

}  // namespace

Image reduced(const Image& image, double scale) {
  if (scale == 1) return image;
  if (std::none_of(std::begin(kScales), std::end(kScales), [=](double s) { return s == scale; }))
    return sampled_apart(image, scale);
  const int from = scale == 1.5 ? 3 : static_cast<int>(scale);
  const int to = scale == 1.5 ? 2 : 1;
  const int steps_x = image.width_px / from;
  const int steps_y = image.height_px / from;
  const Image whole = crop(image, {0, 0, steps_x * from, steps_y * from});
  Image low = crop(cosine(whole), {0, 0, steps_x * to, steps_y * to});
  for (double& sample : low.samples) sample /= scale;
  return inverse_cosine(low);
}

}  // namespace lull::judge
