#pragma once

#include <functional>
#include <memory>
#include <variant>

#include "core/plane.h"
#include "lab/moon_disc.h"
#include "lab/mosaic_plan.h"

namespace lull::lab {

/// The telescope of all panels: its cutoff D / lambda in cycles per px of the scene, and its
/// central obstruction.
struct PanelOptics {
  double cutoff_cycles_per_px = 0.33;
  double obstruction = 0.33;
};

[[nodiscard]] PanelOptics optics_of(const MosaicParameters& parameters);

/// The large scene of a mosaic, of which parts are seen, so that no picture of the whole is held.
/// Any thread.
class MosaicScene {
 public:
  /// Of a frequency, given as a share of the telescope's cutoff.
  using Transfer = std::function<double(double share)>;

  MosaicScene(const MosaicParameters& parameters, const SceneDisc& disc);

  [[nodiscard]] Size size() const { return size_; }

  /// The light of a part before any optics; 0 beyond the scene.
  /// @param phase_deg  see SceneDisc; of no effect on the Sun.
  [[nodiscard]] Plane light(const Box& part, double phase_deg) const;

  /// A part through the telescope, and what else lies before it, as if all of the scene went
  /// through, but for 1e-4 of its light: rings farther than 96 px are left out.
  /// @param air  empty: none.
  [[nodiscard]] Plane seen(const Box& part, double phase_deg, const Transfer& air = {}) const;

 private:
  Size size_;
  PanelOptics optics_;
  std::variant<Plane, std::unique_ptr<const MoonGround>> drawn_;  ///< the Sun's light, or ground
};

}  // namespace lull::lab
