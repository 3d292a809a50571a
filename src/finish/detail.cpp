#include "finish/detail.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "finish/atrous.h"

namespace lull::finish {

namespace {

constexpr int kPlanes = 5;
constexpr double kThresholdSigmas = 1.5;
constexpr double kMadToSigma = 1.482602;  // of a Gaussian
// Keeps the gains of neighbouring planes near each other where the data leave them open.
constexpr double kSmoothness = 0.3;

double wiener_gain(const stack::FrcCurve::Ring& ring, const Blur& blur) {
  const double f = std::clamp(ring.correlation, 0.0, 1.0);
  return 2 * f / (1 + f) / blur.transfer(ring.frequency);
}

// Solves the symmetric positive definite system a x = b by Gaussian elimination; n is 5.
std::vector<double> solve(std::vector<std::vector<double>> a, std::vector<double> b) {
  const std::size_t n = b.size();
  for (std::size_t i = 0; i < n; ++i) {
    for (std::size_t k = i + 1; k < n; ++k) {
      const double factor = a[k][i] / a[i][i];
      for (std::size_t j = i; j < n; ++j) a[k][j] -= factor * a[i][j];
      b[k] -= factor * b[i];
    }
  }
  for (std::size_t i = n; i-- > 0;) {
    for (std::size_t j = i + 1; j < n; ++j) b[i] -= a[i][j] * b[j];
    b[i] /= a[i][i];
  }
  return b;
}

double noise_sigma(const Plane& difference) {
  std::vector<float> magnitudes;
  magnitudes.reserve(static_cast<std::size_t>(difference.size().area_px()));
  for (int y = 0; y < difference.height(); ++y) {
    for (int x = 0; x < difference.width(); ++x)
      magnitudes.push_back(std::abs(difference.row(y)[x]));
  }
  const auto middle = magnitudes.begin() + static_cast<std::ptrdiff_t>(magnitudes.size() / 2);
  std::nth_element(magnitudes.begin(), middle, magnitudes.end());
  return kMadToSigma * static_cast<double>(*middle);
}

// Half of the difference of the halves: the noise of the whole stack, without its signal.
Plane half_difference(PlaneView first, PlaneView second) {
  Plane out(first.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x)
      out.row(y)[x] = 0.5F * (first.row(y)[x] - second.row(y)[x]);
  }
  return out;
}

// Adds the plane with its gain. The part of a gain above 1 goes to coefficients in so far as they
// stand out of the noise (James-Stein like shrinkage); so does all of a gain below 1.
void add_plane(const Plane& plane, double gain, double sigma, Plane& out) {
  const auto threshold = static_cast<float>(kThresholdSigmas * kThresholdSigmas * sigma * sigma);
  const auto certain = static_cast<float>(gain);
  const auto base = static_cast<float>(gain < 1 ? 0.0 : 1.0);
  for (int y = 0; y < plane.height(); ++y) {
    const float* w = plane.row(y);
    float* to = out.row(y);
    for (int x = 0; x < plane.width(); ++x) {
      const float square = w[x] * w[x];
      const float stands_out = square > threshold ? 1.0F - threshold / square : 0.0F;
      to[x] += w[x] * (base + (certain - base) * stands_out);
    }
  }
}

}  // namespace

std::vector<double> detail_gains(const stack::FrcCurve& frc, const Blur& blur, int planes) {
  const auto n = static_cast<std::size_t>(planes);
  const std::optional<double> resolution = frc.resolution();
  if (!resolution) return std::vector<double>(n, 1.0);
  // Least squares over frequency: sum_j gain_j response_j(f) + response_rest(f) = wiener(f).
  std::vector<std::vector<double>> a(n, std::vector<double>(n));
  std::vector<double> b(n);
  bool lost = false;
  for (const auto& ring : frc.rings) {
    lost = lost || (ring.frequency > *resolution && ring.correlation < 0.05);
    const double wanted = lost ? 0 : wiener_gain(ring, blur);
    const double rest = wanted - atrous_response(planes, planes, ring.frequency);
    std::vector<double> response(n);
    for (int j = 0; j < planes; ++j)
      response[static_cast<std::size_t>(j)] = atrous_response(j, planes, ring.frequency);
    for (std::size_t i = 0; i < n; ++i) {
      b[i] += response[i] * rest;
      for (std::size_t j = 0; j < n; ++j) a[i][j] += response[i] * response[j];
    }
  }
  const double smoothness =
      kSmoothness * kSmoothness * static_cast<double>(frc.rings.size()) / 40.0;
  for (std::size_t i = 0; i + 1 < n; ++i) {
    a[i][i] += smoothness;
    a[i + 1][i + 1] += smoothness;
    a[i][i + 1] -= smoothness;
    a[i + 1][i] -= smoothness;
  }
  std::vector<double> gains = solve(std::move(a), std::move(b));
  for (double& gain : gains) gain = std::max(gain, 0.0);
  return gains;
}

DetailResult restore_detail(PlaneView picture, const StackEvidence& evidence) {
  if (!evidence.frc.resolution())
    return {Plane::copy_of(picture), std::vector<double>(kPlanes, 1.0)};
  const std::vector<double> gains = detail_gains(evidence.frc, evidence.blur, kPlanes);
  AtrousPlanes detail = atrous(picture, kPlanes);
  const Plane difference = half_difference(evidence.first_half, evidence.second_half);
  const AtrousPlanes noise = atrous(difference.view(), kPlanes);
  Plane out = std::move(detail.smooth);
  for (std::size_t j = 0; j < gains.size(); ++j) {
    add_plane(detail.planes[j], gains[j], noise_sigma(noise.planes[j]), out);
  }
  return {std::move(out), gains};
}

}  // namespace lull::finish
