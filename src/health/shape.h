#pragma once

#include <cstdint>
#include <string_view>
#include <vector>

#include "capture/capture.h"
#include "capture/frame.h"
#include "core/plane.h"
#include "quality/target.h"

namespace lull::health {

/// What the capture shows, in the words of an observer.
enum class Kind {
  disc,   ///< a planet, or the whole Moon or Sun
  field,  ///< fills the frame, no edge in sight
  limb,   ///< a surface with its edge against the sky
  star,   ///< a point
};

[[nodiscard]] std::string_view kind_name(Kind kind);

/// A disc or star of one frame.
struct ObjectSeen {
  std::int64_t area_px = 0;  ///< at least as bright as Target::object
  std::int64_t core_px = 0;  ///< above half of its brightest place
  Box box;                   ///< holds it; empty: no object
  bool cut = false;          ///< it reaches the frame's edge
};

/// Looks at means of 2 x 2 samples, of green for rgb. For targets of kind disc.
[[nodiscard]] ObjectSeen see_object(const capture::Frame& frame, const capture::CaptureInfo& info,
                                    const quality::Target& target);

/// Mean of frames, in stored units, reduced to at most 160 px a side by an even factor.
[[nodiscard]] Plane reduced_mean(const std::vector<const capture::Frame*>& frames,
                                 const capture::CaptureInfo& info);

struct EdgeSeen {
  bool limb = false;
  double object_share = 1;  ///< part of the frame that is not sky
};

/// Whether a surface ends at a limb: one dark, even region that meets the edges of the frame, at
/// least 4% of it, whose border follows a circle or a straight line. The border of lunar shadow is
/// ragged. Bounds are common practice, no source.
[[nodiscard]] EdgeSeen see_edge(PlaneView mean);

/// A star is small, and its skirt is as wide as a blur's: the area above an eighth of its height
/// over that above a half is 3 for a Gaussian (ln 8 / ln 2), and nearer to 1 for a disc.
[[nodiscard]] bool is_star(double area_px, double core_px);

}  // namespace lull::health
