#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "cli/texts.h"
#include "core/words.h"
#include "run/resolution.h"

namespace lull::cli {

namespace {

void add_enlargement(std::string& text, const stack::EnlargedResult& enlarged) {
  const stack::Enlargement& how = enlarged.enlargement;
  text += fmt::format(
      "enlarged {} times by drops of {} px: the noise of areas is {:.2f} times that expected from "
      "single pixels\n",
      how.scale, how.pixfrac, how.noise_correlation());
  if (enlarged.filled > 0) {
    text += fmt::format(
        "note: on {:.2g}% of the samples no drop fell; they are interpolated. More frames or a "
        "larger --pixfrac avoid that\n",
        100 * enlarged.filled);
  }
}

void add_resolution(std::string& text, const spectrum::FrcCurve& frc,
                    const std::optional<health::Optics>& optics) {
  if (const auto resolution = run::resolution_of(frc, optics)) {
    text +=
        fmt::format("resolution: {} (finest period on which the half stacks agree, FRC over 1/7)\n",
                    resolution->text());
    if (const auto stricter = run::half_bit_resolution_of(frc, optics))
      text +=
          fmt::format("by half a bit: {} (the same by the stricter threshold)\n", stricter->text());
    if (!optics) text += fmt::format("hint: {}\n", run::kOpticsHint);
  } else {
    text += fmt::format(
        "resolution: none; the half stacks share no detail. Keep more frames, or record on a "
        "steadier night\n");
  }
}

void add_colours(std::string& text, const run::StackOutcome& outcome) {
  if (!outcome.result.colours.empty() &&
      outcome.request.stacking.dispersion == run::DispersionChoice::automatic) {
    const Displacement& red = outcome.result.colours[0].dispersion;
    const Displacement& blue = outcome.result.colours[2].dispersion;
    text += fmt::format(
        "colour: red was {:.2f}, {:.2f} px (right, down) from green, blue {:.2f}, {:.2f} px\n",
        red.x_px, red.y_px, blue.x_px, blue.y_px);
  }
  const auto chosen = run::settled(outcome.request.look.white_balance, outcome.request.look.object);
  if (outcome.figures.contains("white_balance") &&
      chosen != run::WhiteBalanceChoice(run::WhiteBalanceRule::none)) {
    const auto factors = outcome.figures.at("white_balance").get<finish::WhiteBalance>();
    text += fmt::format(
        "white balance: red x {:.3f}, green x {:.3f}, blue x {:.3f}; not in the linear FITS\n",
        factors[0], factors[1], factors[2]);
  }
}

}  // namespace

std::string stack_text(const run::StackOutcome& outcome) {
  std::string text;
  const std::vector<std::string>& notes = outcome.notes;
  const files::Clipped& clipped = outcome.clipped;
  const survey::Survey& survey = outcome.health.survey;
  const stack::StackResult& result = outcome.result;
  const std::size_t captures = outcome.request.input.captures.size();
  const std::string others = captures > 1 ? fmt::format(" and {} more", captures - 1) : "";
  text += fmt::format("{}{}: kept {} of {} frames ({} usable), {} x {} px\n", outcome.info.path,
                      others, result.kept.size(), survey.records.size(), survey.usable(),
                      result.picture.width(), result.picture.height());
  for (const run::CaptureShare& one : outcome.shares)
    text += fmt::format("  {}: {} kept, {}\n", one.capture, one.kept, run::share_text(one));
  for (const std::string& note : notes) text += fmt::format("note: {}\n", note);
  const auto optics = outcome.optics_of_picture();
  add_resolution(text, result.frc, optics);
  if (outcome.air) {
    text += fmt::format("air: D/r0 {:.1f}, {}\n", outcome.air->turbulence.d_over_r0,
                        outcome.air->text());
  } else if (optics) {
    text += fmt::format("air: D/r0 is not known, {}\n", run::kNoAir);
  }
  if (result.outliers > 0) {
    text += fmt::format(
        "outliers: {} of the samples, outside the range of the scene, were rejected (tracks, "
        "cosmic hits)\n",
        percent_of(result.outliers, result.steps.back().frames * outcome.info.size.area_px()));
  }
  text +=
      fmt::format("noise: {:.2g}% of full scale; regions moved by {:.2f} px rms independently\n",
                  100 * result.noise, result.local_shift_rms_px);
  if (result.enlarged) add_enlargement(text, *result.enlarged);
  add_colours(text, outcome);
  const bool has_linear =
      std::any_of(outcome.written.begin(), outcome.written.end(),
                  [](const std::string& path) { return path.ends_with(".linear.fits"); });
  if (clipped.below + clipped.above > 0) {
    const auto samples = static_cast<std::int64_t>(outcome.linear().channels.size()) *
                         result.picture.size().area_px();
    text += fmt::format(
        "16 bit: {} of the samples below black and {} above white were limited; {} has them all\n",
        percent_of(clipped.below, samples), percent_of(clipped.above, samples),
        !has_linear ? "a FITS file" : "the linear FITS file");
  }
  for (const std::string& path : outcome.written) text += fmt::format("wrote {}\n", path);
  if (!outcome.viewing_hint.empty()) text += fmt::format("hint: {}\n", outcome.viewing_hint);
  if (!outcome.caution.empty()) text += outcome.caution + "\n";
  return text;
}

}  // namespace lull::cli
