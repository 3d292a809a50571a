#pragma once

#include <optional>
#include <string>

#include "health/optics.h"
#include "spectrum/frc.h"

namespace lull::run {

/// The finest period that the half stacks share, by one threshold.
struct Resolution {
  double period_px = 0;
  std::optional<double> period_arcsec;  ///< with the optics known
  std::optional<double> cutoff_share;   ///< its frequency over the cutoff D / lambda; likewise

  /// "3.34 px, 0.71″, 86% of the cutoff D/lambda", as far as it is known.
  [[nodiscard]] std::string text() const;
};

/// Options that give more where the optics are not known.
inline constexpr const char* kOpticsHint =
    "--aperture, --focal-length, --pixel and --wavelength give it in arcseconds and as a "
    "share of the cutoff D/lambda";

/// By FRC over 1/7; none where no detail is shared.
[[nodiscard]] std::optional<Resolution> resolution_of(const spectrum::FrcCurve& frc,
                                                      const std::optional<health::Optics>& optics);

/// "resolution: 3.34 px (finest period ...)" of a joined stack, for people; ends in \n.
[[nodiscard]] std::string joined_resolution_line(const spectrum::FrcCurve& frc);

/// The same by the half-bit curve.
[[nodiscard]] std::optional<Resolution> half_bit_resolution_of(
    const spectrum::FrcCurve& frc, const std::optional<health::Optics>& optics);

}  // namespace lull::run
