#pragma once

#include <optional>
#include <string>

#include "core/error.h"
#include "core/plane.h"
#include "globe/limb_fit.h"
#include "run/object.h"
#include "run/turning.h"
#include "sky/body.h"

namespace lull::run {

/// From the moment; beyond, the middle shows another face.
inline constexpr double kMostTurnDeg = 90;

/// A globe in a picture: how it stood at a moment, and the limb that was found.
struct GlobeSight {
  Utc moment;
  sky::Aspect aspect{};
  globe::GlobeShape shape{};
  globe::LimbFit limb{};

  [[nodiscard]] globe::GlobeView view() const { return {shape, limb.place}; }
};

/// @param object  a planet. @throws UsageError with the reason: it is none whose globe is turned.
[[nodiscard]] sky::Body derotated_body(Object object);

/// @throws UsageError: UTC is no date for which places of planets are known.
[[nodiscard]] sky::Aspect aspect_at(sky::Body body, Utc moment);

/// The angles of a globe in a picture; its centre and radius are not known.
[[nodiscard]] globe::GlobePlace angles_of(const Turning& turning, const sky::Aspect& aspect);

/// By how much longitudes move from a moment to another, eastward, degrees.
[[nodiscard]] double turned_deg(sky::Body body, Utc from, Utc to);

/// How far the middle of the disc moves from a moment to another, degrees of its radius: less than
/// turned_deg() where a pole is tilted towards us.
[[nodiscard]] double face_moved_deg(sky::Body body, Utc from, Utc to);

/// @param name  of the picture, for messages. @param brightness  linear light.
/// @param arcsec_per_px  where it is known.
/// @throws InputError: a size that contradicts the date, a disc that is cut.
/// @throws NothingUsable: no limb is found.
[[nodiscard]] GlobeSight globe_sight(const std::string& name, PlaneView brightness, sky::Body body,
                                     Utc moment, const Turning& turning,
                                     std::optional<double> arcsec_per_px);

[[nodiscard]] NothingUsable no_limb(const std::string& name);

/// Fits the limb anew with a radius that is known better than by this picture. Where that fails all
/// but the radius stays as it is.
void fit_with_radius(GlobeSight& sight, PlaneView brightness, double radius_px);

}  // namespace lull::run
