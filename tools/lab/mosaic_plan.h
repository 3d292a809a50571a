#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/geometry.h"

namespace lull::lab {

/// The air of a mosaic: how far it bends panels, how much detail it leaves in them, and how much
/// noise, since in poor air fewer frames are kept.
struct PanelAir {
  double least_bend_px = 0.3;  ///< rms length of the shifts that are left in a stack
  double most_bend_px = 1.5;
  double least_d_over_r0 = 1.5;  ///< of the blur that is left in a stack
  double most_d_over_r0 = 4;
  double least_noise = 1;  ///< times MosaicParameters::noise
  double most_noise = 1;
  // Of captures, which bend and blur by themselves:
  double least_instant_d_over_r0 = 4;  ///< of the air in which frames are exposed
  double most_instant_d_over_r0 = 6;
  double wind = 1;  ///< times that of AirParameters
};

/// "good", "fair", "poor" or "changing": from very good to very poor. @throws UsageError for
/// others.
[[nodiscard]] PanelAir panel_air(const std::string& name);

/// A large scene that is seen in overlapping panels. Each differs from the others by less than the
/// bounds given here, evenly distributed.
struct MosaicParameters {
  std::string scene = "moon";  ///< moon, sun; sun-narrow: in a narrow band, with prominences
  int columns = 5;
  int rows = 4;
  Size panel{1600, 1200};
  double overlap = 0.2;  ///< of neighbours, as a share of the sides of a panel
  std::uint64_t seed = 1;
  PanelAir air;
  double pointing = 0.03;  ///< error of the mount, as a share of the panel
  double turn_deg = 0.3;
  double scale = 0.005;          ///< by focus, and by refraction
  double flipped = 0.4;          ///< share of the panels recorded after a meridian flip
  double distortion = 0.001;     ///< of all: relative, at the corners
  double vignetting = 0.04;      ///< of all: loss at the corners
  double gain = 0.03;            ///< relative: thin cloud
  double offset = 0.002;         ///< of full scale
  double noise = 0.003;          ///< in a stack, at the brightest light; of full scale
  double libration_deg = 0.05;   ///< turn of the globe from the first panel to the last
  double minutes_a_panel = 1.5;  ///< of recording
  /// From the first panel to the last, in which the terminator moves; 0: the panels take the
  /// minutes above, and it stands still.
  double hours = 0;
  /// Of each panel's capture, in which air and mount move from frame to frame; 0: panels are linear
  /// stacks, drawn directly.
  int frames = 0;

  [[nodiscard]] bool is_sun() const { return scene != "moon"; }

  [[nodiscard]] bool recorded() const { return frames > 0; }

  [[nodiscard]] int count() const { return columns * rows; }

  [[nodiscard]] Displacement step_px() const;

  /// Of scene around what the panels would show without errors.
  [[nodiscard]] int margin_px() const;

  [[nodiscard]] Size scene_size() const;
};

/// @throws UsageError saying which value makes no sense, and why.
void check(const MosaicParameters& parameters);

/// The disc of the Moon or the Sun in its scene.
struct SceneDisc {
  Displacement centre;
  double radius_px = 0;
  double phase_deg = 0;  ///< between the Sun and the observer in the middle of the time; Sun: 0
};

/// The lit part of the Moon fills the scene: its light comes from above, and the terminator is
/// below. All of the Sun is in its scene.
[[nodiscard]] SceneDisc disc_of(const MosaicParameters& parameters);

/// A smooth random displacement: a sum of waves of random direction and phase.
class BentField {
 public:
  BentField() = default;

  /// @param shortest_px  wavelength; the longest is 3 times as long.
  BentField(std::initializer_list<std::uint64_t> key, double rms_px, double shortest_px);

  [[nodiscard]] Displacement at(double x_px, double y_px) const;

 private:
  struct Wave {
    double across = 0;  ///< rad/px
    double down = 0;
    double phase_x = 0;
    double phase_y = 0;
  };

  double amplitude_px_ = 0;
  std::vector<Wave> waves_;
};

/// What one panel is.
struct PanelPlan {
  int column = 0;
  int row = 0;
  int number = 0;       ///< of its file, from 1; shuffled
  double minutes = 0;   ///< after the first
  Displacement middle;  ///< the place of the scene that its middle shows
  double scale = 1;     ///< px of the scene for one of the panel
  double turn_rad = 0;  ///< of its x axis in the scene, from +x towards +y; about pi after a flip
  double gain = 1;
  double offset = 0;
  double d_over_r0 = 0;  ///< of what a stack is left with; recorded: of the air of its frames
  double bend_px = 0;
  double bend_shortest_px = 0;
  double noise = 0;          ///< at the brightest light, of full scale
  double phase_deg = 0;      ///< see SceneDisc, at its own time
  double libration_rad = 0;  ///< against the moment of the truth
  BentField bent;
};

/// In the order of recording: row by row, to and fro.
[[nodiscard]] std::vector<PanelPlan> plan_panels(const MosaicParameters& parameters);

/// Where the scene is that a place of a panel shows: bent by air, distorted by the optics, turned
/// and scaled by its pose, and turned with the globe.
[[nodiscard]] Displacement scene_place(const MosaicParameters& parameters, const PanelPlan& plan,
                                       const SceneDisc& disc, Displacement place);

}  // namespace lull::lab
