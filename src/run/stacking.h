#pragma once

#include <optional>

#include "quality/keep.h"
#include "run/option.h"

namespace lull::run {

/// Which area the picture shows: what most frames cover, or the whole frame.
enum class FrameArea { covered, whole };

/// Whether the colours are registered to each other.
enum class DispersionChoice { automatic, off };

/// How frames are summed.
enum class FusionChoice { automatic, frequency, selection };

/// Whether a turning globe is stacked piece by piece, and the pieces brought to one moment.
enum class DerotateChoice { off, automatic };

/// How frames are chosen, registered and summed.
struct Stacking {
  quality::Keep keep = quality::KeepAuto{};
  double patch_px = 0;  ///< side of the patches, 0 = auto
  FrameArea area = FrameArea::covered;
  DispersionChoice dispersion = DispersionChoice::automatic;
  FusionChoice fusion = FusionChoice::automatic;
  double scale = 1;               ///< of the picture, frame = 1
  std::optional<double> pixfrac;  ///< side of a drop, pixels of a frame; none = auto
  DerotateChoice derotate = DerotateChoice::off;
};

[[nodiscard]] const OptionTable<Stacking>& stacking_options();

}  // namespace lull::run
