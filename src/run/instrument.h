#pragma once

#include <optional>
#include <string>

#include "health/optics.h"
#include "run/option.h"

namespace lull::run {

/// What is known of the instrument.
struct Instrument {
  double aperture_mm = 0;  ///< 0: the optics are not known
  double focal_length_mm = 0;
  double pixel_um = 0;
  double wavelength_nm = 550;
  std::string filter{};  ///< its name; empty: not stated

  /// None where the aperture is not known.
  [[nodiscard]] std::optional<health::Optics> optics() const;
};

/// --aperture, --focal-length, --pixel, --wavelength and --filter.
[[nodiscard]] OptionTable<Instrument> instrument_options();

/// The same as if a picture so many times larger had been recorded.
[[nodiscard]] std::optional<health::Optics> enlarged(std::optional<health::Optics> optics,
                                                     double scale);

}  // namespace lull::run
