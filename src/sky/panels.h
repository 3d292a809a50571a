#pragma once

#include <array>
#include <cstddef>
#include <vector>

namespace lull::sky {

/// A place on the sky, from the middle of a disc.
struct SkyOffset {
  double east_arcsec = 0;
  double north_arcsec = 0;
};

/// A disc that is lit from one side, as sky/aspect.h describes it.
struct LitDisc {
  double radius_arcsec = 0;
  double phase_deg = 0;        ///< 0: all of it is lit, and it has no terminator
  double bright_limb_deg = 0;  ///< position angle, from north through east
};

/// What one frame shows.
struct FrameField {
  double width_arcsec = 0;
  double height_arcsec = 0;
  double north_deg = 0;  ///< where north is in the picture, clockwise from the top; not mirrored
};

/// One place to point at.
struct SkyPanel {
  SkyOffset middle{};
  bool on_terminator = false;
};

/// Places of frames that cover all of the lit part, in rows along one side of the frame, next to
/// each other with just this overlap. The way that takes fewer frames is chosen: rows, or columns.
/// What is left over lies outside the limb, alike on both sides. Frames without light are left out.
/// Order: along the terminator from its northern end, then each time the nearest one.
/// @param overlap  of the side of a frame, 0 up to below 1.
[[nodiscard]] std::vector<SkyPanel> panels_over(const LitDisc& disc, const FrameField& field,
                                                double overlap);

/// No fewer than panels_over() gives, without working them out.
[[nodiscard]] double most_panels(const LitDisc& disc, const FrameField& field, double overlap);

/// The terminator, half an ellipse from its northern end to the other (none where all is lit).
[[nodiscard]] std::vector<SkyOffset> terminator_of(const LitDisc& disc, std::size_t points);

/// The limb that is in sunlight: between the same ends in the same order, or where all is lit on
/// from there back to the first.
[[nodiscard]] std::vector<SkyOffset> lit_limb_of(const LitDisc& disc, std::size_t points);

/// Whether the Sun shines at that place.
[[nodiscard]] bool is_lit(const LitDisc& disc, const SkyOffset& place);

/// The corners of a frame, one after the other around it.
[[nodiscard]] std::array<SkyOffset, 4> corners_of(const SkyPanel& panel, const FrameField& field);

}  // namespace lull::sky
