#include "run/resolution.h"

#include <fmt/format.h>

namespace lull::run {

namespace {

std::optional<Resolution> resolution_at(const std::optional<double>& cycles_per_px,
                                        const std::optional<health::Optics>& optics) {
  if (!cycles_per_px) return std::nullopt;
  Resolution out;
  out.period_px = 1 / *cycles_per_px;
  if (optics) {
    out.period_arcsec = optics->scale_arcsec_per_px() * out.period_px;
    out.cutoff_share = *cycles_per_px / optics->cutoff_cycles_per_px();
  }
  return out;
}

}  // namespace

std::string Resolution::text() const {
  std::string text = fmt::format("{:.2f} px", period_px);
  if (period_arcsec) text += fmt::format(", {:.2f}″", *period_arcsec);
  if (cutoff_share) text += fmt::format(", {:.0f}% of the cutoff D/lambda", 100 * *cutoff_share);
  return text;
}

std::optional<Resolution> resolution_of(const spectrum::FrcCurve& frc,
                                        const std::optional<health::Optics>& optics) {
  return resolution_at(frc.resolution(), optics);
}

std::string joined_resolution_line(const spectrum::FrcCurve& frc) {
  const auto resolution = resolution_of(frc, std::nullopt);
  if (!resolution) return "resolution: none; the half stacks share no detail\n";
  return fmt::format(
      "resolution: {} (finest period on which the half stacks agree, FRC over 1/7)\n",
      resolution->text());
}

std::optional<Resolution> half_bit_resolution_of(const spectrum::FrcCurve& frc,
                                                 const std::optional<health::Optics>& optics) {
  return resolution_at(frc.half_bit_resolution(), optics);
}

}  // namespace lull::run
