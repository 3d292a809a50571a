#pragma once

#include <optional>

#include "health/optics.h"

namespace CLI {
class App;
}

namespace lull::app {

/// What the command line tells of the instrument.
struct OpticsOptions {
  double aperture_mm = 0;  ///< 0: optics not known
  double focal_length_mm = 0;
  double pixel_um = 0;
  double wavelength_nm = 550;
};

/// --aperture, --focal-length, --pixel and --wavelength.
void add_optics_options(CLI::App& command, OpticsOptions& options);

/// None where the aperture is not told.
/// @throws UsageError for values that no instrument has, as a recipe may hold.
[[nodiscard]] std::optional<health::Optics> optics_of(const OpticsOptions& options);

/// The same as if a picture so many times larger had been recorded.
[[nodiscard]] std::optional<health::Optics> enlarged(std::optional<health::Optics> optics,
                                                     double scale);

}  // namespace lull::app
