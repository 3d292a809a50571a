#include "lab/tile_blur.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull::lab {

namespace {

constexpr double kPi = std::numbers::pi;

double sinc(double f) { return f == 0 ? 1 : std::sin(kPi * f) / (kPi * f); }

// Transform of the samples of the cubic B-spline: (4 + 2 cos) / 6.
double spline_response(double f) { return (2 + std::cos(2 * kPi * f)) / 3; }

// What becomes of a frequency by integration over pixels and by going to spline coefficients.
float pixel_and_spline(double f) { return static_cast<float>(sinc(f) / spline_response(f)); }

}  // namespace

TileBlur::TileBlur(const Plane& scene, int spacing, int psf_side)
    : spacing_(spacing), psf_side_(psf_side) {
  const int side = spectrum::fast_length_above(2 * spacing + psf_side);
  tile_size_ = {side, side};
  spectrum::Fft fft(tile_size_);
  const int columns = (scene.width() - 1 + spacing - 1) / spacing;
  const int rows = (scene.height() - 1 + spacing - 1) / spacing;
  for (int r = 0; r <= rows; ++r) {
    for (int c = 0; c <= columns; ++c) {
      Tile tile{c * spacing, r * spacing, spectrum::Spectrum(tile_size_)};
      const Plane light = cut(scene, tile.middle_x, tile.middle_y);
      bool lit = false;
      for (int y = 0; y < side && !lit; ++y)
        lit = std::any_of(light.row(y), light.row(y) + side, [](float v) { return v != 0; });
      if (!lit) continue;
      fft.forward(light.view(), tile.spectrum);
      for (int v = 0; v < tile.spectrum.rows(); ++v) {
        const float down = pixel_and_spline(tile.spectrum.frequency_y(v));
        for (int u = 0; u < tile.spectrum.columns(); ++u)
          tile.spectrum.row(v)[u] *= down * pixel_and_spline(tile.spectrum.frequency_x(u));
      }
      tiles_.push_back(std::move(tile));
    }
  }
}

// Cuts out a tile by its centre, with a margin for the light that the blur moves in.
Plane TileBlur::cut(const Plane& scene, int middle_x, int middle_y) const {
  Plane out(tile_size_);
  const int half = tile_size_.width_px / 2;
  const int x0 = std::max(middle_x - half, 0);
  const int x1 = std::min(middle_x - half + tile_size_.width_px, scene.width());
  for (int y = 0; y < tile_size_.height_px; ++y) {
    const int from = middle_y - half + y;
    if (from < 0 || from >= scene.height() || x1 <= x0) continue;
    std::copy(scene.row(from) + x0, scene.row(from) + x1, out.row(y) + x0 - (middle_x - half));
  }
  return out;
}

bool TileBlur::reaches(const Tile& tile, const Box& box) const {
  const int reach = spacing_;
  return tile.middle_x + reach > box.x0 && tile.middle_x - reach < box.x1 &&
         tile.middle_y + reach > box.y0 && tile.middle_y - reach < box.y1;
}

void TileBlur::add(const Tile& tile, const Plane& psf, Plane& out, Workspace& work) const {
  if (work.fft.empty()) work.fft.emplace_back(tile_size_);
  if (work.tile.size() != tile_size_) work.tile = Plane(tile_size_);
  const int side = tile_size_.width_px;
  const int half = psf_side_ / 2;
  work.tile.fill(0);
  for (int y = 0; y < psf_side_; ++y) {
    float* to = work.tile.row(y < half ? y : side - psf_side_ + y);
    std::copy_n(psf.row(y), half, to);
    std::copy_n(psf.row(y) + half, psf_side_ - half, to + side - psf_side_ + half);
  }
  work.fft[0].forward(work.tile.view(), work.spectrum);
  for (int v = 0; v < work.spectrum.rows(); ++v) {
    auto* bins = work.spectrum.row(v);
    const auto* scene = tile.spectrum.row(v);
    for (int u = 0; u < work.spectrum.columns(); ++u) {
      bins[u] = {bins[u].real() * scene[u].real() - bins[u].imag() * scene[u].imag(),
                 bins[u].real() * scene[u].imag() + bins[u].imag() * scene[u].real()};
    }
  }
  work.fft[0].inverse(work.spectrum, work.tile.view());
  const int x0 = std::max(tile.middle_x - spacing_, 0);
  const int x1 = std::min(tile.middle_x + spacing_, out.width());
  const auto share = [this](int distance) {
    return 1 - static_cast<float>(std::abs(distance)) / static_cast<float>(spacing_);
  };
  for (int y = std::max(tile.middle_y - spacing_, 0);
       y < std::min(tile.middle_y + spacing_, out.height()); ++y) {
    const float* from = work.tile.row(y - tile.middle_y + side / 2) - tile.middle_x + side / 2;
    const float down = share(y - tile.middle_y);
    float* to = out.row(y);
    for (int x = x0; x < x1; ++x) to[x] += down * share(x - tile.middle_x) * from[x];
  }
}

}  // namespace lull::lab
