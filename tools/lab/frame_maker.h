#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "lab/air.h"
#include "lab/canvas.h"
#include "lab/cover.h"
#include "lab/mount.h"
#include "lab/optics.h"
#include "lab/parameters.h"
#include "lab/tile_blur.h"
#include "lab/truth_file.h"

namespace lull::lab {

/// A scene that is drawn elsewhere: a part of a larger one.
struct GivenScene {
  /// Its light before any optics on a canvas, a plane a channel.
  std::function<std::vector<Plane>(const Canvas&)> light;
  double brightest = 1;  ///< place of the larger scene through the telescope without air
};

/// Makes the light that falls on the sensor during one exposure, and what is true of it.
class FrameMaker {
 public:
  /// @param given  instead of the scene of the parameters; used in here alone.
  explicit FrameMaker(const Parameters& parameters, const GivenScene* given = nullptr);

  struct Frame {
    std::vector<Plane> light;  ///< a plane a channel, 1 = brightest place of the truth, or of
                               ///< the larger scene
    Displacement shift;
    NodeField field;
    double strehl_tilt_removed = 0;
    double strehl_on_axis = 0;
  };

  /// One a thread.
  struct Workspace {
    std::vector<PsfMaker> psf_maker;  ///< one, made at first use
    Plane psf;
    Plane canvas;
    std::vector<float> phase_rad;
    TileBlur::Workspace blur;
  };

  [[nodiscard]] Frame frame(double time_s, Workspace& workspace) const;

  /// Sets the pictures, cutoff and wavelengths of the truth.
  void fill(Truth& truth) const;

  /// Pixels of the fine truth on a side of a frame's pixel; 1: there is none.
  [[nodiscard]] int fineness() const { return optics_.fineness; }

  [[nodiscard]] double transparency(double time_s) const { return air_.transparency(time_s); }

  /// In the units of the scene: what 1 of Frame::light is.
  [[nodiscard]] double brightest() const { return brightest_; }

  /// Displacement of each channel by refraction, px.
  [[nodiscard]] const std::vector<Displacement>& dispersion() const { return dispersion_; }

 private:
  struct Exposure;

  using Scenes = std::vector<TileBlur>;  ///< a channel each

  [[nodiscard]] Scenes scenes_of(const std::vector<Plane>& light) const;
  [[nodiscard]] Scenes scenes_at(double since_s) const;
  [[nodiscard]] Exposure expose(double time_s) const;
  void find_field(const Exposure& exposure, Frame& out) const;
  double tile_psf(const Exposure& exposure, const Optics::Colour& colour, double x_px, double y_px,
                  float weight, Workspace& workspace) const;
  void blur(const Exposure& exposure, const Scenes& scenes, std::size_t channel, Frame& out,
            Workspace& workspace) const;
  double blur_scene(const Exposure& exposure, const TileBlur& scene, std::size_t channel,
                    const Box& seen_box, Workspace& workspace) const;
  void add_second(const Exposure& exposure, std::size_t channel, Frame& out,
                  Workspace& workspace) const;
  void add_strehl(const Exposure& exposure, Frame& out, Workspace& workspace) const;
  [[nodiscard]] Plane perfect(std::size_t channel, int rim_px, bool fine = false) const;

  Parameters parameters_;
  Optics optics_;
  Air air_;
  Mount mount_;
  Canvas canvas_;
  std::optional<CoverMap> cover_;  ///< of what turns
  Scenes scenes_;                  ///< at the moment of the truth
  std::optional<TileBlur> second_;
  std::vector<Displacement> dispersion_;
  double brightest_ = 1;
};

}  // namespace lull::lab
