#include "app/optics_options.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>

#include "app/usage.h"
#include "core/error.h"

namespace lull::app {

namespace {

struct Range {
  double lowest;
  double highest;
};

constexpr Range kAperture_mm = {10, 20000};
constexpr Range kFocalLength_mm = {10, 1e6};
constexpr Range kPixel_um = {0.5, 100};
constexpr Range kWavelength_nm = {200, 5000};

void check(const char* name, double value, const Range& range, const char* unit) {
  if (value >= range.lowest && value <= range.highest) return;
  throw UsageError(fmt::format("{} {}: use a number from {} to {} {}", name, value, range.lowest,
                               range.highest, unit));
}

}  // namespace

void add_optics_options(CLI::App& command, OpticsOptions& options) {
  const auto add = [&command](const char* name, double& value, const char* words,
                              const Range& range, const char* unit) {
    return command.add_option(name, value, words)
        ->check(number_within(range.lowest, range.highest, unit));
  };
  CLI::Option* aperture =
      add("--aperture", options.aperture_mm, "Diameter of the telescope, mm", kAperture_mm, "mm");
  CLI::Option* focal_length =
      add("--focal-length", options.focal_length_mm, "Effective focal length, with extenders, mm",
          kFocalLength_mm, "mm");
  CLI::Option* pixel = add("--pixel", options.pixel_um, "Side of a pixel, um", kPixel_um, "um");
  CLI::Option* wavelength = add("--wavelength", options.wavelength_nm,
                                "Of the light, nm; 550 if not told", kWavelength_nm, "nm");
  aperture->needs(focal_length)->needs(pixel);
  focal_length->needs(aperture);
  pixel->needs(aperture);
  wavelength->needs(aperture);
}

std::optional<health::Optics> optics_of(const OpticsOptions& options) {
  if (options.aperture_mm == 0) return std::nullopt;
  check("--aperture", options.aperture_mm, kAperture_mm, "mm");
  check("--focal-length", options.focal_length_mm, kFocalLength_mm, "mm");
  check("--pixel", options.pixel_um, kPixel_um, "um");
  check("--wavelength", options.wavelength_nm, kWavelength_nm, "nm");
  return health::Optics{options.aperture_mm, options.focal_length_mm, options.pixel_um,
                        options.wavelength_nm};
}

std::optional<health::Optics> enlarged(std::optional<health::Optics> optics, double scale) {
  if (optics) optics->pixel_um /= scale;
  return optics;
}

}  // namespace lull::app
