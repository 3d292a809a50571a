#include "app/stack_summary.h"

#include <fmt/format.h>

#include <algorithm>
#include <nlohmann/json.hpp>

#include "app/resolution.h"

namespace lull::app {

namespace {

void print_enlargement(const stack::EnlargedResult& enlarged) {
  const stack::Enlargement& how = enlarged.enlargement;
  fmt::print(
      "enlarged {} times by drops of {} px: the noise of areas is {:.2f} times what that of a "
      "pixel suggests\n",
      how.scale, how.pixfrac, how.noise_correlation());
  if (enlarged.filled > 0) {
    fmt::print(
        "note: on {:.2g}% of the samples no drop fell; they are filled by interpolation. More "
        "frames or a larger --pixfrac avoid it\n",
        100 * enlarged.filled);
  }
}

void print_resolution(const spectrum::FrcCurve& frc, const std::optional<health::Optics>& optics) {
  if (const auto resolution = resolution_of(frc, optics)) {
    fmt::print("resolution: {} (finest period whose half stacks correlate, FRC over 1/7)\n",
               resolution->words());
    if (const auto stricter = half_bit_resolution_of(frc, optics))
      fmt::print("by half a bit: {} (the same by the stricter threshold)\n", stricter->words());
    if (!optics) fmt::print("hint: {}\n", kOpticsHint);
  } else {
    fmt::print(
        "resolution: none; the half stacks share no detail. More frames or a better night?\n");
  }
}

void print_colours(const StackRun& run) {
  if (!run.result.colours.empty() && run.options.dispersion == "auto") {
    const Shift& red = run.result.colours[0].dispersion;
    const Shift& blue = run.result.colours[2].dispersion;
    fmt::print(
        "colour: red lay {:.2f}, {:.2f} px (right, down) from green, blue {:.2f}, {:.2f} px\n",
        red.x_px, red.y_px, blue.x_px, blue.y_px);
  }
  if (run.options.look.white_balance != "none") {
    const auto factors = run.figures.at("white_balance").get<finish::WhiteBalance>();
    fmt::print(
        "white balance: red x {:.3f}, green x {:.3f}, blue x {:.3f}; not in the linear FITS\n",
        factors[0], factors[1], factors[2]);
  }
}

}  // namespace

void print_summary(const StackRun& run, const std::vector<std::string>& notes,
                   const files::Clipped& clipped) {
  const survey::Survey& survey = run.health.survey;
  const stack::StackResult& result = run.result;
  fmt::print("{}: kept {} of {} frames ({} usable), {} x {} px\n", run.info.path,
             result.kept.size(), survey.records.size(), survey.usable(), result.picture.width(),
             result.picture.height());
  for (const std::string& note : notes) fmt::print("note: {}\n", note);
  const auto optics = enlarged(optics_of(run.options.optics), result.scale());
  print_resolution(result.frc, optics);
  if (run.air) {
    fmt::print("air: D/r0 {:.1f}, {}\n", run.air->turbulence.d_over_r0, run.air->words());
  } else if (optics) {
    fmt::print("air: D/r0 cannot be told, {}\n", kNoAir);
  }
  if (result.outliers > 0) {
    fmt::print("outliers: {} samples that no scene explains were left out (tracks, cosmic hits)\n",
               result.outliers);
  }
  fmt::print("noise: {:.2e} of full scale; regions moved by {:.2f} px rms on their own\n",
             result.noise, result.local_shift_rms_px);
  if (result.enlarged) print_enlargement(*result.enlarged);
  print_colours(run);
  const bool has_linear =
      std::any_of(run.written.begin(), run.written.end(),
                  [](const std::string& path) { return path.ends_with(".linear.fits"); });
  if (clipped.below + clipped.above > 0) {
    fmt::print("16 bit: {} samples below black and {} above white were limited; {} has them all\n",
               clipped.below, clipped.above, !has_linear ? "a FITS file" : "the linear FITS file");
  }
  for (const std::string& path : run.written) fmt::print("wrote {}\n", path);
}

}  // namespace lull::app
