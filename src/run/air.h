#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <vector>

#include "files/metadata.h"
#include "health/optics.h"
#include "health/turbulence.h"

namespace lull::run {

/// How strong the air was, and for which instrument.
struct Air {
  health::Turbulence turbulence;
  health::Optics optics;

  /// Fried's parameter, mm.
  [[nodiscard]] double r0_mm() const { return optics.aperture_mm / turbulence.d_over_r0; }

  /// good, fair or poor: below 3 and above 7 are common practice, no source.
  [[nodiscard]] std::string quality() const;

  /// What the number means, in a sentence.
  [[nodiscard]] std::string text() const;
};

/// What hides it.
inline constexpr const char* kNoAir =
    "because of few frames, little detail, dust without a flat, or pixels too coarse";

/// None without optics, or where the probe found no value.
[[nodiscard]] std::optional<Air> air_of(const std::optional<health::TurbulenceProbe>& probe,
                                        const std::optional<health::Optics>& optics);

/// For the recipe and --json; null where it is not known.
[[nodiscard]] nlohmann::json to_json(const std::optional<Air>& air);

/// Cards for FITS; none where it is not known.
[[nodiscard]] std::vector<files::Card> air_cards(const std::optional<Air>& air);

}  // namespace lull::run
