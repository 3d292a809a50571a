#pragma once

#include <array>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"
#include "globe/globe_view.h"

namespace lull::globe {

/// Of a globe's limb: x and y of the centre and the equatorial radius, px; logarithm of the sigma
/// in px of the Gaussian that blurs it; Minnaert's k; part of the light in a wider Gaussian, the
/// halo that the air leaves around what it moves; logarithm of that one's sigma over the other's.
enum LimbUnknown {
  limb_x,
  limb_y,
  limb_radius,
  limb_blur,
  limb_darkening,
  halo_share,
  halo_width,
  limb_pole
};

using LimbUnknowns = std::array<double, 8>;

/// A model of what lies within 12% of a globe's limb, against a picture of it. Places that rings or
/// their shadow change are left out.
class LimbModel {
 public:
  /// @param start  where the ring around the limb is laid, and the angles of the globe.
  /// @param blur_px  sigma, about: rings reach over their edges by it.
  LimbModel(PlaneView picture, const GlobeShape& shape, const GlobePlace& start, double blur_px);

  [[nodiscard]] GlobePlace place(const LimbUnknowns& unknowns) const;

  /// Picture less model on the ring, with the brightness of each sector that fits best.
  [[nodiscard]] std::vector<double> differences(const LimbUnknowns& unknowns) const;

  /// How they change with each unknown, in this order. All are taken from one drawing and its
  /// blurs.
  [[nodiscard]] std::vector<std::vector<double>> slopes(const LimbUnknowns& unknowns) const;

  /// Of the globe inside the ring, less the sky beside it.
  [[nodiscard]] double brightness() const { return brightness_; }

 private:
  struct Sample {
    int x;
    int y;
    std::size_t sector;
    double light;  ///< less the sky
  };

  // Without blur.
  struct Drawing {
    Plane light;
    Plane by_darkening;  ///< how it changes with Minnaert's k
  };

  void collect(double blur_px);
  [[nodiscard]] double sky_beside_rings() const;
  [[nodiscard]] GlobePlace scaled(double factor) const;
  [[nodiscard]] Drawing drawn(const LimbUnknowns& unknowns) const;
  [[nodiscard]] std::vector<double> misfits(const Plane& model) const;

  PlaneView picture_;
  GlobeShape shape_;
  GlobePlace start_;
  Box box_{};
  std::vector<Sample> samples_{};
  double brightness_ = 0;
};

}  // namespace lull::globe
