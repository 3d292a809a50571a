#pragma once

#include <string_view>
#include <vector>

#include "core/plane.h"

namespace lull::quality {

/// What the capture shows, as far as registration and ranking must know.
enum class TargetKind {
  disc,   ///< a bright object that the dark sky surrounds: planet, whole Moon or Sun, star
  field,  ///< no edge in sight: the object reaches over the frame's edges: lunar or solar close-up,
          ///< limb
};

[[nodiscard]] std::string_view target_name(TargetKind kind);

/// Levels that separate the object from the sky, in the units of the planes they came from.
struct Target {
  TargetKind kind = TargetKind::field;
  double sky = 0;     ///< level of the dark sky; 0 for a field, where none is known
  double object = 0;  ///< at least this bright = object; 0 for a field
  /// At least this bright = lit by the object: where noise is measured, since that of the dark sky
  /// is another. For a disc as `object`; a field may have a limb, a terminator or shadows.
  double lit = 0;
};

/// Looks at reduced frames from the start of a capture. A disc is an object whose surroundings
/// are dark: nine in ten of the frame's edge samples lie below an eighth of the way from sky to
/// the brightest per mille. @param reduced at least one plane, equal sizes.
[[nodiscard]] Target recognise_target(const std::vector<PlaneView>& reduced);

/// Brightness of the object of one frame, above the sky: for a disc the mean of the brightest
/// tenth of its samples, for a field the mean of all. Same units; 0 when nothing is there.
[[nodiscard]] double object_brightness(PlaneView reduced, const Target& target,
                                       std::vector<float>& scratch);

}  // namespace lull::quality
