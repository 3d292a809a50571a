#pragma once

#include <filesystem>
#include <string>

#include "core/progress.h"
#include "files/results.h"
#include "lab/mosaic_plan.h"
#include "lab/mosaic_scene.h"

namespace lull::lab {

/// When a panel was recorded, of the night of all.
[[nodiscard]] std::string middle_utc(const PanelPlan& plan);

/// Name of a panel's capture.
[[nodiscard]] std::string capture_of(const PanelPlan& plan);

/// Records what a panel shows of the scene as a capture: frames through the phase screens of its
/// own air, on a mount that drifts, by a camera with gain, offset and vignetting of the panel; and
/// what is true of it (lab/simulator.h). @param brightest  of the scene through the telescope.
void add_panel_capture(const MosaicParameters& parameters, const PanelPlan& plan,
                       const SceneDisc& disc, const MosaicScene& scene, double brightest,
                       const std::filesystem::path& folder, files::Results& results,
                       const Progress& progress);

}  // namespace lull::lab
