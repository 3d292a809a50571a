#include "judge/measures.h"

#include <algorithm>
#include <cmath>
#include <complex>

#include "judge/rings.h"
#include "judge/transforms.h"

namespace lull::judge {

namespace {

constexpr double kTiny = 1e-300;

/// Where a falling curve first passes 0.5, linear between the centres of its rings. Ring 0 holds
/// mostly the brightness and is ignored.
double half_of(const std::vector<double>& curve) {
  const auto count = static_cast<double>(curve.size());
  for (std::size_t i = 1; i < curve.size(); ++i) {
    if (curve[i] >= 0.5) continue;
    double place = (static_cast<double>(i) - 0.5) / count;
    if (curve[i - 1] > 0.5) {
      place += (curve[i - 1] - 0.5) / std::max(curve[i - 1] - curve[i], 1e-9) / count;
    }
    return std::clamp(place, 0.0, 1.0);
  }
  return 1;
}

Image without_mean(const Image& image) {
  Image result = image;
  const double level = mean(image);
  for (double& sample : result.samples) sample -= level;
  return result;
}

}  // namespace

LinearFit fit_linear(const Image& truth, const Image& picture) {
  const double truth_mean = mean(truth);
  const double picture_mean = mean(picture);
  double common = 0;
  double power = 0;
  for (std::size_t i = 0; i < truth.count(); ++i) {
    const double part = picture.samples[i] - picture_mean;
    common += part * (truth.samples[i] - truth_mean);
    power += part * part;
  }
  const double gain = common / std::max(power, kTiny);
  return {gain, truth_mean - gain * picture_mean};
}

Image applied(const LinearFit& fit, const Image& picture) {
  Image result = picture;
  for (double& sample : result.samples) sample = fit.gain * sample + fit.offset;
  return result;
}

double psnr_db(double mean_squared_error, double peak) {
  return 10 * std::log10(peak * peak / std::max(mean_squared_error, kTiny));
}

double mean_squared_error(const Image& a, const Image& b) {
  const Image error = difference(a, b);
  return mean(product(error, error));
}

double ssim(const Image& a, const Image& b, double data_range) {
  constexpr double kSigma = 1.5;
  constexpr double kTruncate = 3.5;  // 11 x 11 px
  constexpr int kRim = 5;
  const auto local = [](const Image& image) { return gaussian_blur(image, kSigma, kTruncate); };
  const Image mean_a = local(a);
  const Image mean_b = local(b);
  const Image square_a = local(product(a, a));
  const Image square_b = local(product(b, b));
  const Image cross = local(product(a, b));
  const double c1 = 0.01 * data_range * 0.01 * data_range;
  const double c2 = 0.03 * data_range * 0.03 * data_range;
  double sum = 0;
  for (int y = kRim; y < a.height_px - kRim; ++y) {
    for (int x = kRim; x < a.width_px - kRim; ++x) {
      const double ma = mean_a.at(x, y);
      const double mb = mean_b.at(x, y);
      const double variances = square_a.at(x, y) - ma * ma + square_b.at(x, y) - mb * mb;
      const double covariance = cross.at(x, y) - ma * mb;
      sum += (2 * ma * mb + c1) * (2 * covariance + c2) /
             ((ma * ma + mb * mb + c1) * (variances + c2));
    }
  }
  return sum / ((a.width_px - 2 * kRim) * static_cast<double>(a.height_px - 2 * kRim));
}

RingCorrelation ring_correlation(const Image& truth, const Image& picture, double cutoff) {
  const int shorter = std::min(truth.width_px, truth.height_px);
  const int count = ring_count(shorter * cutoff / 1.5, 12, 50);
  const Rings rings = rings_of(truth.size(), cutoff, count, Transform::fourier);
  const Image window = tukey_window(truth.size(), 0.7);
  const auto a = fourier(windowed(truth, window));
  const auto b = fourier(windowed(picture, window));
  const auto n = static_cast<std::size_t>(count);
  std::vector<double> common(n);
  std::vector<double> power_a(n);
  std::vector<double> power_b(n);
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (rings.ring[i] >= count) continue;
    const auto ring = static_cast<std::size_t>(rings.ring[i]);
    common[ring] += (a[i] * std::conj(b[i])).real();
    power_a[ring] += std::norm(a[i]);
    power_b[ring] += std::norm(b[i]);
  }
  RingCorrelation result;
  for (std::size_t i = 0; i < n; ++i) {
    result.curve.push_back(common[i] / std::sqrt(std::max(power_a[i] * power_b[i], kTiny)));
    result.area += std::clamp(result.curve[i], 0.0, 1.0) / count;
    result.transfer.push_back(common[i] / std::max(power_a[i], kTiny) * power_a[0] /
                              std::max(common[0], kTiny));
  }
  result.half = half_of(result.curve);
  return result;
}

double best_radial_error(const Image& truth, const Image& picture, double cutoff) {
  const Image a = cosine(without_mean(truth));
  const Image b = cosine(without_mean(picture));
  const int shorter = std::min(truth.width_px, truth.height_px);
  const int count = ring_count(2 * shorter * cutoff, 32, 400);
  const Rings rings = rings_of(truth.size(), cutoff, count, Transform::cosine);
  const std::size_t n = 10 * static_cast<std::size_t>(count) + 1;
  std::vector<double> common(n);
  std::vector<double> power_a(n);
  std::vector<double> power_b(n);
  for (std::size_t i = 0; i < a.count(); ++i) {
    const auto ring = static_cast<std::size_t>(rings.ring[i]);
    common[ring] += a.samples[i] * b.samples[i];
    power_a[ring] += a.samples[i] * a.samples[i];
    power_b[ring] += b.samples[i] * b.samples[i];
  }
  double left = 0;
  for (std::size_t i = 0; i < n; ++i) {
    const double gained = std::max(common[i], 0.0);
    left += power_a[i] - gained * gained / std::max(power_b[i], kTiny);
  }
  return left / static_cast<double>(truth.count());
}

Measures measure(const Image& truth, const Image& picture, double cutoff) {
  Measures result;
  result.fit = fit_linear(truth, picture);
  const Image fitted = applied(result.fit, picture);
  const Range range = range_of(truth);
  const double peak = range.highest - std::min(range.lowest, 0.0);
  const double error = mean_squared_error(fitted, truth);
  const Image variation = without_mean(truth);
  result.psnr = psnr_db(error, peak);
  result.nrmse = std::sqrt(error / std::max(mean(product(variation, variation)), kTiny));
  result.ssim = ssim(truth, fitted, range.highest - range.lowest);
  RingCorrelation frc = ring_correlation(truth, picture, cutoff);
  result.frc_f50 = frc.half;
  result.frc_auc = frc.area;
  result.frc_curve = std::move(frc.curve);
  result.transfer_curve = std::move(frc.transfer);
  result.psnr_best_radial = psnr_db(best_radial_error(truth, picture, cutoff), peak);
  return result;
}

}  // namespace lull::judge
