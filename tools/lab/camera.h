#pragma once

#include <cstdint>
#include <vector>

#include "core/plane.h"
#include "lab/parameters.h"
#include "lab/random.h"

namespace lull::lab {

/// Samples of one frame as the camera stores them: 8 or 16 bits, rows without padding; for RGB the
/// three colours of a pixel together.
using Samples = std::vector<std::uint16_t>;

/// A sensor with its faults: photon, dark and read noise, hot and cold pixels, pattern of the
/// columns and rows, vignetting, dust, saturation. All of it follows from the seed.
class Camera {
 public:
  Camera(const Parameters& parameters);

  /// @param light  one plane, or three for colour; 1 = peak_electrons.
  /// @param frame  number that the noise follows from.
  [[nodiscard]] Samples expose(const std::vector<Plane>& light, double transparency,
                               std::uint64_t frame) const;

  /// A frame of a dark, and of a flat whose light reaches 60% of full scale.
  [[nodiscard]] Samples dark(std::uint64_t frame) const;
  [[nodiscard]] Samples flat(std::uint64_t frame) const;

  [[nodiscard]] double gain_e_per_adu() const { return gain_; }

  [[nodiscard]] int channels() const { return channels_; }

  /// Which channel a mosaic's pixel has; 0 for mono.
  [[nodiscard]] int channel_at(int x, int y) const;

 private:
  template <class LightAt>
  [[nodiscard]] Samples read_out(const LightAt& electrons, Draw draw, std::uint64_t frame) const;

  [[nodiscard]] bool is_mosaic() const;
  void make_sensor(std::uint64_t seed);
  void add_dust(std::uint64_t seed);

  CameraParameters parameters_;
  int width_px_;
  int height_px_;
  std::uint64_t seed_;
  int channels_;
  double full_scale_;
  double gain_;
  Plane response_;  ///< share of the light that counts
  Plane warm_;      ///< electrons of hot pixels
  std::vector<float> column_adu_;
  std::vector<float> row_adu_;
};

}  // namespace lull::lab
