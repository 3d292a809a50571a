#pragma once

#include <memory>
#include <utility>
#include <vector>

#include "align/spline_plane.h"
#include "core/plane.h"
#include "globe/globe_view.h"
#include "globe/spread_limb.h"

namespace lull::globe {

/// How fast clouds run eastward over the axes of longitude system III, rad/s.
/// Jupiter: the rates of Systems I and II (sky/rotation_elements.h), with a
/// passage from 8 to 12 degrees of latitude in between; 0 for other bodies.
[[nodiscard]] double cloud_drift_rad_per_s(sky::Body body, double planetographic_latitude_rad);

/// One picture of a globe.
struct GlobePicture {
  GlobeView view;
  double later_s = 0;  ///< than the moment asked for
  double weight = 1;
  double gain = 1;                  ///< on its samples, so that all pictures are as bright
  std::vector<PlaneView> planes{};  ///< channels and others of the same size, treated alike
  bool is_reference = false;        ///< see Derotation::keep_from_reference()
  LightSpread spread{};             ///< over edges of the rings
};

struct Derotated {
  std::vector<Plane> planes{};
  /// Of each pixel: the part of the pictures' weight that counts there; 1 where
  /// all of them do.
  Plane share{};
};

/// Brings pictures of a turning globe to one moment and averages them, one by one. Each pixel of
/// the globe goes through the point of the surface that it shows; samples count less towards the
/// limb of their picture, and not where the point is on the far side. Their brightness becomes
/// that which the point has at the moment (limb darkening, terminator). At the very limb, and
/// beside the globe, pictures are averaged as they are. So are rings and what they hide or shade at
/// the moment; a sample does not count where rings hide or shade it in its picture. Beside rings
/// pictures count less the further detail has moved there.
class Derotation {
 public:
  /// @param at_moment  the globe at the moment, and where it shall lie in the result.
  /// @param darkening  Minnaert's k. @param spread  in the result.
  Derotation(const GlobeView& at_moment, Size size, sky::Body body, double darkening,
             const LightSpread& spread = {});

  /// To the same moment, with nothing in it yet.
  [[nodiscard]] Derotation like() const;

  /// Places at which the reference alone counts, such as those where a moon passes: 1 there, 0
  /// elsewhere. Before the first picture. @param places  as large as the result.
  void keep_from_reference(Plane places) { kept_ = std::move(places); }

  /// All pictures have as many planes as the first.
  void add(const GlobePicture& picture);

  /// Of at least one picture.
  [[nodiscard]] Derotated finish() const;

 private:
  // What a pixel of the result shows.
  struct Spot {
    float point[3];  ///< on the surface, axes of the globe
    float drift;     ///< of its clouds, rad/s
    float light;     ///< by Minnaert's law, and spread over the limb
    float globe;     ///< 0: averaged as it is, 1: turned
    bool border;     ///< the bare globe, so near to a ring that it is not turned in full
  };

  [[nodiscard]] const Spot* first_spot(int y) const {
    return spots_->data() + static_cast<std::ptrdiff_t>(y) * size_.width_px;
  }

  // Weighted sums of planes, and of the weights.
  struct Sums {
    std::vector<Plane> planes{};
    Plane weight{};
  };

  Derotation() = default;

  void add_row(const GlobePicture& picture, const std::vector<align::SplinePlane>& planes,
               const Plane& clear, int y);

  GlobeView at_moment_{{}, {}};
  Size size_;
  double darkening_ = 1;
  // One for all: how the blur of a picture differs is known too badly to be made good.
  std::shared_ptr<const SpreadLimb> limb_;
  std::shared_ptr<const std::vector<Spot>> spots_;
  Sums turned_;
  Sums plain_;    ///< pictures as they are, where these are needed
  Plane kept_{};  ///< empty: none
  double all_ = 0;
};

/// The same for pictures that are all at hand. @param nothing  to the moment, without pictures.
/// @param kept  places that the reference alone shows; empty: none.
[[nodiscard]] Derotated derotate(const std::vector<GlobePicture>& pictures,
                                 const Derotation& nothing, Plane kept = {});

}  // namespace lull::globe
