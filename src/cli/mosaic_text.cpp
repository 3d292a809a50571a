#include <fmt/format.h>

#include "cli/texts.h"
#include "core/words.h"
#include "run/mosaic_outcome.h"
#include "run/resolution.h"

namespace lull::cli {

std::string mosaic_text(const run::MosaicOutcome& outcome) {
  const mosaic::Layout& layout = outcome.layout;
  std::string text = fmt::format(
      "{}: {} x {} px, from {} panels, {:.0f}% of it shown\n", outcome.request.output,
      layout.mosaic.width_px, layout.mosaic.height_px, layout.group.size(), 100 * outcome.covered);
  std::size_t places = 0;
  for (const mosaic::Link& link : layout.links) places += link.ties.size();
  text += fmt::format("overlaps: {} pairs of panels, compared at {} places\n", layout.links.size(),
                      places);
  text += fmt::format("fit: {:.2f} px by shift, turn and scale", layout.rigid_rms_px);
  text += outcome.request.field == mosaic::Bends::followed
              ? fmt::format("; {:.2f} px with what the air has bent\n", layout.bent_rms_px)
              : std::string("\n");
  if (outcome.limb)
    text +=
        fmt::format("limb: laid onto a circle with a radius of {:.1f} px, {}\n",
                    outcome.limb->fit.curve.circle.radius_px, run::limb_fit_text(*outcome.limb));
  if (!outcome.frc.rings.empty()) text += run::joined_resolution_line(outcome.frc);
  for (const std::string& panel : outcome.left_out) text += fmt::format("left out: {}\n", panel);
  for (const std::string& note : outcome.notes) text += fmt::format("note: {}\n", note);
  if (outcome.clipped.below + outcome.clipped.above > 0) {
    const auto samples = static_cast<std::int64_t>(outcome.channels) * layout.mosaic.area_px();
    text += fmt::format("16 bit: {} of the samples below black and {} above white were limited\n",
                        percent_of(outcome.clipped.below, samples),
                        percent_of(outcome.clipped.above, samples));
  }
  for (const std::string& path : outcome.written) text += fmt::format("wrote {}\n", path);
  if (!outcome.viewing_hint.empty()) text += fmt::format("hint: {}\n", outcome.viewing_hint);
  if (!outcome.caution.empty()) text += outcome.caution + "\n";
  return text;
}

}  // namespace lull::cli
