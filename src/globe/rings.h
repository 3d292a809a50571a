#pragma once

#include <cstddef>
#include <optional>
#include <span>

#include "core/plane.h"
#include "globe/globe_view.h"

namespace lull::globe {

/// A place of the rings that is seen.
struct RingPlace {
  double radius = 0;  ///< from the globe's axis, equatorial radii
  /// How far from the globe's middle the way to the Sun passes, in radii of the globe as a sphere;
  /// below 1 the place lies in its shadow.
  double sun_passes = 1;
};

/// None where there are no rings, behind the globe, and for rings that are seen edge on.
[[nodiscard]] std::optional<RingPlace> ring_at(const GlobeView& view, double x_px, double y_px);

/// Where rings C, B and A begin, in equatorial radii (from memory).
inline constexpr double kRingC = 1.239;
inline constexpr double kRingB = 1.526;
inline constexpr double kRingA = 2.027;

/// What a place of a ringed globe shows that has light.
struct LitPlace {
  std::size_t part = 0;  ///< zone of the rings; as many as there are zones: the globe
  double light = 1;      ///< of the globe, by Minnaert's law; rings are even
};

/// None where the sky or a shadow is seen. @param zones  where they begin, equatorial radii,
/// rising; nearer places belong to the first. @param darkening  Minnaert's k.
[[nodiscard]] std::optional<LitPlace> lit_place(const GlobeView& view, double x_px, double y_px,
                                                std::span<const double> zones, double darkening);

/// Whether the way from a point of the surface to the Sun passes through the rings.
[[nodiscard]] bool is_in_ring_shadow(const GlobeShape& shape, const sky::Vector& point);

/// Whether a place shows a ring, or the globe in the shadow of one.
[[nodiscard]] bool is_changed_by_rings(const GlobeView& view, double x_px, double y_px);

/// Of each pixel: how far it lies from what rings change, which is their picture and their shadow
/// on the globe; 0 there. Without rings an empty plane. @param box  of the picture.
[[nodiscard]] Plane distance_from_rings(const GlobeView& view, const Box& box);

/// From 0 where rings and their shadow, blurred, change a place to 1 where they do not. Without
/// rings an empty plane. @param blur_px  sigma.
[[nodiscard]] Plane clear_of_rings(const GlobeView& view, Size size, double blur_px);

/// At a place of such a plane; 1 where that is empty, 0 beside it.
[[nodiscard]] double clear_at(const Plane& clear, const GlobeView::Shown& at);

/// Whether a place lies beside the rings, by so much of their radius.
[[nodiscard]] bool is_beside_rings(const GlobeView& view, double x_px, double y_px, double margin);

}  // namespace lull::globe
