#pragma once

#include <optional>
#include <string>
#include <vector>

#include "files/metadata.h"
#include "mosaic/panel.h"
#include "run/finish_input.h"

namespace lull::run {

/// What stays known of a panel while its pixels come and go.
struct PanelInput {
  std::string path;
  Size size;
  std::size_t channels = 1;
  bool has_halves = false;
  std::vector<files::Card> cards;          ///< of its stack; empty for pictures
  std::vector<spectrum::RatioRing> ratio;  ///< see finish::Measurements
  std::vector<spectrum::FilterPoint> sampling;
  std::optional<double> resolution_px;  ///< finest period of its FRC, px of its own; of stacks
  bool stretched = false;
  std::vector<std::string> warnings;  ///< see FinishInput
  std::size_t fingerprint = 0;        ///< of its samples: equal for copies
};

/// A panel, and its reduced picture.
struct ReadPanel {
  PanelInput input;
  mosaic::Sketch sketch;
};

/// Reads a panel and keeps what is small. @throws InputError.
[[nodiscard]] ReadPanel read_panel_input(const std::string& path);

/// Its light and noise. @throws InputError, also where the file is no longer as it was.
[[nodiscard]] mosaic::PanelPicture read_panel(const PanelInput& panel);

/// @throws InputError naming two panels that cannot stand in one mosaic: linear stacks and other
/// pictures, gray and colour, linear and stretched.
void check_alike(const std::vector<PanelInput>& panels);

}  // namespace lull::run
