#pragma once

#include <string>
#include <vector>

#include "draw/plot.h"
#include "run/plan_request.h"
#include "sky/aspect.h"
#include "sky/panels.h"

namespace lull::run {

/// How frames of a camera cover the lit part of the Moon, or the Sun.
struct PanelPlan {
  sky::LitDisc disc{};
  sky::FrameField field{};
  double overlap = 0;  ///< of the side of a frame
  std::vector<sky::SkyPanel> panels{};
};

/// @throws UsageError: not for this body, the camera is not known, or far too many are needed.
[[nodiscard]] PanelPlan plan_panels(sky::Body body, const sky::Aspect& aspect,
                                    const PlanRequest& request);

/// A map with north at the top and east on the left, as the sky is seen.
[[nodiscard]] draw::Plot panel_map(const PanelPlan& plan);

}  // namespace lull::run
