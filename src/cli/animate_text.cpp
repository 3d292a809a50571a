#include <fmt/format.h>

#include "cli/texts.h"

namespace lull::cli {

std::string animate_text(const run::AnimateOutcome& outcome) {
  const run::AnimateRequest& request = outcome.request;
  return fmt::format("{} pictures of {} x {} px, {} shown at {:g} a second, {:.1f} s\nwrote {}\n",
                     request.pictures.size(), outcome.size.width_px, outcome.size.height_px,
                     outcome.shown, request.speed,
                     static_cast<double>(outcome.shown) / request.speed, request.output);
}

}  // namespace lull::cli
