#pragma once

#include <functional>
#include <vector>

#include "core/progress.h"
#include "mosaic/brightness.h"
#include "mosaic/limb.h"
#include "mosaic/panel.h"
#include "mosaic/panel_map.h"
#include "mosaic/tie.h"
#include "spectrum/radial_filter.h"

namespace lull::mosaic {

/// Whether what the air has bent in each panel is followed by a smooth field.
enum class Bends { followed, left };

/// Whether panels are brought to one light.
enum class Lights { matched, left };

/// Whether panels of different air are brought to one blur.
enum class Blurs { matched, left };

/// Whether the edge of a disc against the sky is known to be a circle.
enum class Limbs { any, round };

struct LayoutOptions {
  Bends bends = Bends::followed;
  Limbs limb = Limbs::any;  ///< round: used where bends are followed
  Blurs blurs = Blurs::matched;
  Lights lights = Lights::matched;
  double most_bytes = 1e9;  ///< of panels that are held at a time
  /// Is shown the size of the mosaic, right to a few px, as soon as it is known; may throw.
  std::function<void(Size mosaic, std::size_t panels)> foresee = {};
};

/// Which panel lies where.
struct Layout {
  Size mosaic;
  std::vector<PanelIndex> group;               ///< panels of the mosaic, in their order
  std::vector<std::vector<PanelIndex>> apart;  ///< other groups, which overlap none of these
  std::vector<PanelMap> maps;  ///< of all panels; others than the group's mean nothing
  std::vector<Link> links;     ///< between panels of the group
  std::vector<std::vector<Brightness>> brightness;  ///< for each channel, for each panel
  /// Of each panel, over frequencies of the mosaic, that bring all to one blur; those of a panel
  /// that stays as it is are empty.
  std::vector<std::vector<spectrum::FilterPoint>> gains;
  double rigid_rms_px = 0;  ///< of the ties, by scale, turn, shift and distortion alone
  double bent_rms_px = 0;   ///< the same with bends
  Limb limb;                ///< where it was used; else without places
};

/// Finds the layout from the panels' content: find_links(), then patch_ties() from coarse to fine
/// with adjust() and bend_panels(), then gradient_ties() and limb_anchors() likewise. The first
/// panel of the group decides which way is up.
/// @param sketches  of all panels. @param load  reads one in full.
/// @throws NothingUsable where no two panels overlap, or do not fit together; Interrupted.
[[nodiscard]] Layout lay_out(const std::vector<Sketch>& sketches, const LoadPanel& load,
                             const LayoutOptions& options, const Progress& progress);

/// The panel whose blur is that of the mosaic, or nearest to it: its gains change least.
[[nodiscard]] PanelIndex typical_panel(const Layout& layout);

}  // namespace lull::mosaic
