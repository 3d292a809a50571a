#pragma once

#include <vector>

#include "core/geometry.h"
#include "mosaic/panel_map.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

/// Panels that hang together by links, the largest such group first.
[[nodiscard]] std::vector<std::vector<PanelIndex>> groups_of(std::size_t panels,
                                                             const std::vector<Link>& links);

/// Places for the panels of one group: the first of `group` stays as it is, each other one is laid
/// onto those before it by the similarity that its ties ask for.
/// @param panels  sizes of all panels. @return maps of all panels; others than the group's keep the
/// identity.
[[nodiscard]] std::vector<PanelMap> first_places(const std::vector<Size>& panels,
                                                 const std::vector<PanelIndex>& group,
                                                 const std::vector<Link>& links);

/// Scale, turn and shift of each panel and the optics' distortion of all, so that ties meet: least
/// squares over all links at once ("bundle adjustment", Triggs et al. 2000, Lecture Notes in
/// Computer Science 1883, 298), with less weight for what does not fit (Cauchy). The first panel of
/// the group stays. Bends are left as they are.
/// @param anchors  of panels of the group.
/// @return rms of the gaps of ties that are left, robust, px of the mosaic.
double adjust(std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group,
              const std::vector<Link>& links, const std::vector<Anchor>& anchors = {});

/// All panels scaled so that the geometric mean of their scales is 1, then moved so that their
/// outlines begin at 0.
/// @return the size of the mosaic.
[[nodiscard]] Size settle(std::vector<PanelMap>& maps, const std::vector<PanelIndex>& group);

}  // namespace lull::mosaic
