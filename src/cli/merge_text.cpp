#include <fmt/format.h>

#include "cli/texts.h"
#include "core/words.h"
#include "run/merge_report.h"
#include "run/resolution.h"

namespace lull::cli {

std::string merge_text(const run::MergeOutcome& outcome) {
  std::string text =
      fmt::format("{}: {} x {} px, from {} stacks\n", outcome.request.output, outcome.size.width_px,
                  outcome.size.height_px, outcome.parts.size());
  for (std::size_t i = 0; i < outcome.parts.size(); ++i) {
    if (run::is_grid(outcome, i)) continue;
    text += fmt::format("{}: {}\n", run::part_name(i), run::placed_text(outcome.parts[i]));
  }
  text += run::joined_resolution_line(outcome.frc);
  for (const std::string& note : outcome.notes) text += fmt::format("note: {}\n", note);
  if (outcome.clipped.below + outcome.clipped.above > 0) {
    const std::int64_t samples = 3 * outcome.size.area_px();
    text += fmt::format(
        "16 bit: {} of the samples below black and {} above white were limited; the linear FITS "
        "file has them all\n",
        percent_of(outcome.clipped.below, samples), percent_of(outcome.clipped.above, samples));
  }
  for (const std::string& path : outcome.written) text += fmt::format("wrote {}\n", path);
  if (!outcome.viewing_hint.empty()) text += fmt::format("hint: {}\n", outcome.viewing_hint);
  if (!outcome.caution.empty()) text += outcome.caution + "\n";
  return text;
}

}  // namespace lull::cli
