#pragma once

#include <string>

#include "capture/open_options.h"
#include "capture/pixel_layout.h"

namespace lull::capture {

/// What decides whether a choice makes sense for a capture.
struct ChoiceContext {
  std::string path;
  std::string container;  ///< libav's name
  bool is_raw = false;
};

/// Replaces the byte order and the mosaic that the file gives by those that were asked for.
/// @throws UsageError when one makes no sense: a byte order of coded or one-byte samples, a mosaic
/// of frames that have their colours already. With Misfit::left_out nothing is thrown.
void apply_choices(const OpenOptions& options, const ChoiceContext& context, PixelLayout& layout);

}  // namespace lull::capture
