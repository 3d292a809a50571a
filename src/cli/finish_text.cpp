#include <fmt/format.h>

#include "cli/texts.h"
#include "core/words.h"

namespace lull::cli {

std::string finish_text(const run::FinishOutcome& outcome) {
  std::string text =
      fmt::format("{}: {} x {} px, {}, {}\n", outcome.request.input, outcome.size.width_px,
                  outcome.size.height_px, outcome.channels == 3 ? "colour" : "gray",
                  outcome.has_halves ? "noise known from its half stacks"
                                     : "noise estimated from the picture itself");
  for (const std::string& warning : outcome.warnings) text += fmt::format("warning: {}\n", warning);
  for (const std::string& note : outcome.notes) text += fmt::format("note: {}\n", note);
  if (outcome.clipped.below + outcome.clipped.above > 0) {
    const auto samples = static_cast<std::int64_t>(outcome.channels) * outcome.size.area_px();
    text += fmt::format("16 bit: {} of the samples below black and {} above white were limited\n",
                        percent_of(outcome.clipped.below, samples),
                        percent_of(outcome.clipped.above, samples));
  }
  for (const std::string& path : outcome.written) text += fmt::format("wrote {}\n", path);
  if (!outcome.viewing_hint.empty()) text += fmt::format("hint: {}\n", outcome.viewing_hint);
  return text;
}

}  // namespace lull::cli
