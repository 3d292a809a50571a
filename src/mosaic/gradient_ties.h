#pragma once

#include <vector>

#include "mosaic/panel_map.h"
#include "mosaic/readable.h"
#include "mosaic/tie.h"

namespace lull::mosaic {

/// Which detail is compared: what poor air leaves, between blurs of 3 and 8 px in cells of 32 px;
/// or that and finer detail, between 1.5 and 4 px in cells of 16 px.
enum class Grains { coarse, both };

/// How two panels lie apart, cell by cell all over their overlap, from the gradients of
/// what both show (Lucas & Kanade 1981, Proc. 7th Int. Joint Conf. Artificial Intelligence, 674),
/// both read on the grid of the mosaic as the maps bend them. For panels that lie right to 2 px:
/// what is left is measured, and better each time.
/// @return a tie for each cell that both show. Its information follows from the gradients and from
/// how much the panels differ nearby: a cell without detail has next to none, one with detail in
/// one direction has none along it (Shi & Tomasi 1994, Proc. IEEE Conf. Computer Vision and Pattern
/// Recognition, 593).
[[nodiscard]] std::vector<Tie> gradient_ties(const Readable& first, const PanelMap& first_map,
                                             const Readable& second, const PanelMap& second_map,
                                             Grains grains);

}  // namespace lull::mosaic
