#include "judge/distortion.h"

#include <algorithm>
#include <cmath>

#include "judge/rings.h"
#include "judge/transforms.h"

namespace lull::judge {

namespace {

constexpr double kSigmaPx = 14;
constexpr int kRounds = 6;
constexpr double kTiny = 1e-300;

/// Gain of the truth towards the picture in each ring; the last, beyond the cutoff, is 0.
std::vector<double> ring_gains(const Image& truth, const Image& picture, const Rings& rings) {
  const auto count = static_cast<std::size_t>(rings.rings_to_cutoff);
  std::vector<double> common(count + 1);
  std::vector<double> power(count + 1);
  for (std::size_t i = 1; i < truth.count(); ++i) {  // from 1: without the mean
    const auto ring = std::min(static_cast<std::size_t>(rings.ring[i]), count);
    common[ring] += truth.samples[i] * picture.samples[i];
    power[ring] += truth.samples[i] * truth.samples[i];
  }
  std::vector<double> gains(count + 1);
  for (std::size_t i = 0; i < count; ++i) {
    gains[i] = std::max(common[i] / std::max(power[i], kTiny), 0.0);
  }
  return gains;
}

/// Linear between the centres of the rings.
double interpolated(const std::vector<double>& gains, double place) {
  const double inside = std::clamp(place, 0.0, static_cast<double>(gains.size() - 1));
  const auto left = std::min(static_cast<std::size_t>(inside), gains.size() - 2);
  const double part = inside - static_cast<double>(left);
  return gains[left] * (1 - part) + gains[left + 1] * part;
}

/// The matching filter mirrors the picture at the edges of the box: the rim has weight 0.
Image rim_mask(Size size) {
  const auto part = [](int i, int n) {
    return std::clamp((std::min(i, n - 1 - i) - 10) / 14.0, 0.0, 1.0);
  };
  Image image(size);
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      image.at(x, y) = part(x, size.width_px) * part(y, size.height_px);
    }
  }
  return image;
}

/// High-passed and faded out at the rim.
Image local_part(const Image& image, const Image& mask, double sigma_px) {
  return product(difference(image, gaussian_blur(image, sigma_px)), mask);
}

/// One round: adds the step of least squares in every window to the field.
void add_step(Distortion& field, const Image& matched, const Image& picture, const Image& mask,
              double sigma_px) {
  const auto blurred_product = [sigma_px](const Image& a, const Image& b) {
    return gaussian_blur(product(a, b), sigma_px);
  };
  const Gradient slopes = gradient_of(matched);
  const Image error = local_part(difference(matched, picture), mask, sigma_px);
  const Image gx = local_part(slopes.x, mask, sigma_px);
  const Image gy = local_part(slopes.y, mask, sigma_px);
  const Image xx = blurred_product(gx, gx);
  const Image yy = blurred_product(gy, gy);
  const Image xy = blurred_product(gx, gy);
  const Image x = blurred_product(gx, error);
  const Image y = blurred_product(gy, error);
  const double ridge = std::max(0.02 * (mean(xx) + mean(yy)), kTiny);
  for (std::size_t i = 0; i < error.count(); ++i) {
    const double a = xx.samples[i] + ridge;
    const double b = yy.samples[i] + ridge;
    const double c = xy.samples[i];
    const double determinant = a * b - c * c;
    field.x.samples[i] += std::clamp((b * x.samples[i] - c * y.samples[i]) / determinant, -1., 1.);
    field.y.samples[i] += std::clamp((a * y.samples[i] - c * x.samples[i]) / determinant, -1., 1.);
  }
}

Image weight_of(const Image& matched, const Image& mask) {
  const Gradient slopes = gradient_of(matched);
  Image power = product(slopes.x, slopes.x);
  for (std::size_t i = 0; i < power.count(); ++i) {
    power.samples[i] += slopes.y.samples[i] * slopes.y.samples[i];
    power.samples[i] *= mask.samples[i];
  }
  Image weight = gaussian_blur(power, kSigmaPx);
  for (std::size_t i = 0; i < weight.count(); ++i) {
    if (mask.samples[i] <= 0) weight.samples[i] = 0;
  }
  return weight;
}

double weighted_rms(const Distortion& field) {
  const double total = std::max(mean(field.weight), kTiny);
  const double mean_x = mean(product(field.x, field.weight)) / total;
  const double mean_y = mean(product(field.y, field.weight)) / total;
  double sum = 0;
  for (std::size_t i = 0; i < field.weight.count(); ++i) {
    const double dx = field.x.samples[i] - mean_x;
    const double dy = field.y.samples[i] - mean_y;
    sum += (dx * dx + dy * dy) * field.weight.samples[i];
  }
  return std::sqrt(std::max(sum, 0.0) / static_cast<double>(field.weight.count()) / total);
}

}  // namespace

Image matched_radially(const Image& truth, const Image& picture, double cutoff) {
  Image a = cosine(truth);
  const Image b = cosine(picture);
  const int shorter = std::min(truth.width_px, truth.height_px);
  const int count = ring_count(shorter * cutoff / 2, 8, 40);
  const Rings rings = rings_of(truth.size(), cutoff, count, Transform::cosine);
  const std::vector<double> gains = ring_gains(a, b, rings);
  for (std::size_t i = 1; i < a.count(); ++i) {
    a.samples[i] *= interpolated(gains, rings.radius[i] * count - 0.5);
  }
  a.samples[0] = b.samples[0];
  return inverse_cosine(a);
}

Distortion find_distortion(const DisplacedTruth& truth_at, const Image& picture, double cutoff) {
  const Image mask = rim_mask(picture.size());
  Distortion field;
  field.x = Image(picture.size());
  field.y = Image(picture.size());
  for (int round = 0; round < kRounds; ++round) {
    const Image matched = matched_radially(truth_at(field.x, field.y), picture, cutoff);
    add_step(field, matched, picture, mask, kSigmaPx * (round < 2 ? 2 : 1));
  }
  field.weight = weight_of(matched_radially(truth_at(field.x, field.y), picture, cutoff), mask);
  field.rms_px = weighted_rms(field);
  return field;
}

}  // namespace lull::judge
