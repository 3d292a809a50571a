#include <fmt/format.h>

#include <cmath>

#include "cli/texts.h"

namespace lull::cli {

std::string master_text(const run::MasterOutcome& outcome) {
  const run::MasterRequest& request = outcome.request;
  const run::KeptMaster& kept = outcome.kept;
  const capture::CaptureInfo& info = kept.master.source;
  std::string text =
      fmt::format("{}: {} of {} frames of {} x {} px, {:.1f}% of full scale\n", request.output,
                  calibrate::kind_name(*request.kind), kept.master.frames, info.size.width_px,
                  info.size.height_px, 100 * outcome.level_part);
  if (kept.noise) {
    text += fmt::format("noise of one frame: {:.2f} ADU\n", std::sqrt(kept.noise->variance_adu2));
  }
  if (outcome.transfer) {
    text += fmt::format("gain: {:.3f} +- {:.3f} e-/ADU; read noise: {}\n",
                        outcome.transfer->gain_e_per_adu, outcome.transfer->gain_sigma,
                        outcome.transfer->read_noise_e
                            ? fmt::format("{:.2f} e-", *outcome.transfer->read_noise_e)
                            : std::string("below the steps of the samples, or not known"));
  }
  for (const std::string& note : outcome.notes) text += fmt::format("note: {}\n", note);
  return text;
}

}  // namespace lull::cli
