#include "lab/camera.h"

#include <algorithm>
#include <cmath>

#include "lab/random.h"

namespace lull::lab {

namespace {

constexpr double kFlatShare = 0.6;
constexpr double kPeakShare = 0.8;  // of full scale that the brightest place reaches by default

}  // namespace

Camera::Camera(const Parameters& p)
    : parameters_(p.camera),
      width_px_(p.width_px),
      height_px_(p.height_px),
      seed_(p.recording_seed()),
      channels_(p.camera.colour == "rgb" ? 3 : 1),
      full_scale_((1 << p.camera.bits) - 1),
      gain_(p.camera.gain_e_per_adu > 0
                ? p.camera.gain_e_per_adu
                : p.camera.peak_electrons / (kPeakShare * full_scale_ - p.camera.offset_adu)),
      response_(p.width_px, p.height_px),
      warm_(p.width_px, p.height_px) {
  make_sensor(p.recording_seed());
}

void Camera::make_sensor(std::uint64_t seed) {
  Random random({seed, key_of(Draw::sensor), 1});
  const double cx = 0.5 * (width_px_ - 1);
  const double cy = 0.5 * (height_px_ - 1);
  for (int y = 0; y < height_px_; ++y) {
    for (int x = 0; x < width_px_; ++x) {
      const double r2 = ((x - cx) * (x - cx) + (y - cy) * (y - cy)) / (cx * cx + cy * cy);
      response_.row(y)[x] = static_cast<float>(1 - parameters_.vignetting * r2);
      if (random.uniform() < parameters_.hot_share)
        warm_.row(y)[x] = static_cast<float>(random.uniform(0.05, 0.7) * full_scale_ * gain_);
      if (random.uniform() < parameters_.cold_share)
        response_.row(y)[x] *= static_cast<float>(random.uniform(0.1, 0.6));
    }
  }
  add_dust(seed);
  for (int x = 0; x < width_px_; ++x)
    column_adu_.push_back(static_cast<float>(parameters_.column_noise_adu * random.normal()));
  Random of_rows({seed, key_of(Draw::sensor), 3});
  for (int y = 0; y < height_px_; ++y)
    row_adu_.push_back(static_cast<float>(parameters_.row_noise_adu * of_rows.normal()));
}

// A grain's shadow is a soft disc.
void Camera::add_dust(std::uint64_t seed) {
  Random random({seed, key_of(Draw::sensor), 2});
  for (int i = 0; i < parameters_.dust; ++i) {
    const double cx = random.uniform(0, width_px_);
    const double cy = random.uniform(0, height_px_);
    const double radius = random.uniform(4, 16);
    const double depth = random.uniform(0.04, 0.2);
    for (int y = 0; y < height_px_; ++y) {
      for (int x = 0; x < width_px_; ++x) {
        const double edge = std::clamp((radius - std::hypot(x - cx, y - cy)) / 2 + 0.5, 0.0, 1.0);
        response_.row(y)[x] *= static_cast<float>(1 - depth * edge);
      }
    }
  }
}

bool Camera::is_mosaic() const {
  return parameters_.colour != "mono" && parameters_.colour != "rgb";
}

int Camera::channel_at(int x, int y) const {
  if (!is_mosaic()) return 0;
  const char colour = parameters_.colour[static_cast<std::size_t>(2 * (y % 2) + x % 2)];
  return colour == 'r' ? 0 : colour == 'g' ? 1 : 2;
}

// electrons(x, y, c): mean electrons of light at a pixel.
template <class LightAt>
Samples Camera::read_out(const LightAt& electrons, Draw draw, std::uint64_t frame) const {
  Samples out(static_cast<std::size_t>(width_px_) * static_cast<std::size_t>(height_px_) *
              static_cast<std::size_t>(channels_));
  const double dark = parameters_.dark_e_per_s * parameters_.exposure_s;
  const int shift = parameters_.align == "high" ? parameters_.stored_bits - parameters_.bits : 0;
  std::size_t i = 0;
  for (int y = 0; y < height_px_; ++y) {
    Random random({seed_, key_of(draw), frame, static_cast<std::uint64_t>(y)});
    Random flicker({seed_, key_of(draw), frame, static_cast<std::uint64_t>(y), 1});
    const double of_row = static_cast<double>(row_adu_[static_cast<std::size_t>(y)]) +
                          parameters_.row_flicker_adu * flicker.normal();
    for (int x = 0; x < width_px_; ++x) {
      const double response = static_cast<double>(response_.row(y)[x]);
      const double warm = dark + static_cast<double>(warm_.row(y)[x]);
      for (int c = 0; c < channels_; ++c) {
        const double counted = random.poisson(response * electrons(x, y, c) + warm) +
                               parameters_.read_noise_e * random.normal();
        const double adu =
            std::round(counted / gain_ + parameters_.offset_adu + of_row +
                       static_cast<double>(column_adu_[static_cast<std::size_t>(x)]));
        out[i++] =
            static_cast<std::uint16_t>(static_cast<unsigned>(std::clamp(adu, 0.0, full_scale_))
                                       << static_cast<unsigned>(shift));
      }
    }
  }
  return out;
}

Samples Camera::expose(const std::vector<Plane>& light, double transparency,
                       std::uint64_t frame) const {
  const double scale = parameters_.peak_electrons * transparency;
  const bool mosaic = is_mosaic();
  const auto electrons = [&](int x, int y, int c) {
    const int channel = mosaic ? channel_at(x, y) : c;
    return scale * static_cast<double>(light[static_cast<std::size_t>(channel)].row(y)[x]);
  };
  return read_out(electrons, Draw::noise, frame);
}

Samples Camera::dark(std::uint64_t frame) const {
  return read_out([](int, int, int) { return 0.0; }, Draw::dark, frame);
}

Samples Camera::flat(std::uint64_t frame) const {
  const double level = kFlatShare * full_scale_ * gain_;
  return read_out([level](int, int, int) { return level; }, Draw::flat, frame);
}

}  // namespace lull::lab
