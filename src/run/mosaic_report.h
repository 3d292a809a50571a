#pragma once

#include <string>
#include <vector>

#include "files/picture.h"
#include "run/finish_picture.h"
#include "run/mosaic_outcome.h"
#include "run/panel_input.h"

namespace lull::run {

/// The pictures of the page, of one size.
struct MosaicPictures {
  const files::Picture& stack;     ///< joined, linear
  const Finished& finished;        ///< the same, finished
  const files::Picture& shared;    ///< may have no channels
  std::vector<files::Card> cards;  ///< of these
};

/// The page of a mosaic: the picture, the map of its panels, and a row for each.
/// @param panels  all of the layout.
[[nodiscard]] std::string mosaic_report(const MosaicOutcome& outcome,
                                        const std::vector<PanelInput>& panels,
                                        const MosaicPictures& pictures);

}  // namespace lull::run
