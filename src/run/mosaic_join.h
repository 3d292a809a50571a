#pragma once

#include <filesystem>
#include <vector>

#include "core/progress.h"
#include "files/metadata.h"
#include "mosaic/holes.h"
#include "mosaic/layout.h"
#include "mosaic/moved_light.h"
#include "run/panel_input.h"
#include "spectrum/frc.h"

namespace lull::run {

/// What is known of a mosaic once it is joined.
struct JoinedMosaic {
  double covered = 0;               ///< share of the rectangle that panels show
  std::vector<mosaic::Hole> holes;  ///< worth a panel of their own, the largest first
  spectrum::FrcCurve frc;           ///< of the half stacks; empty for pictures
};

/// Joins the panels into a file, see MosaicFile. Panels are read when they are needed.
/// @param moved  light of the layout. @param most_bytes  of panels that are held at a time.
/// @param cards  of the mosaic.
/// @throws InputError, OutputError, Interrupted.
[[nodiscard]] JoinedMosaic join_panels(const std::filesystem::path& path,
                                       const mosaic::Layout& layout,
                                       const mosaic::MovedLight& moved,
                                       const std::vector<PanelInput>& panels,
                                       const std::vector<files::Card>& cards, double most_bytes,
                                       const Progress& progress);

/// Bytes that it takes at least. @param panels  all of them.
[[nodiscard]] double bytes_to_join(const std::vector<PanelInput>& panels);

}  // namespace lull::run
