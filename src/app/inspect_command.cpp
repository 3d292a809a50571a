#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "app/commands.h"
#include "app/inspect_report.h"
#include "app/results.h"

namespace lull::app {

namespace {

std::optional<health::Pattern> pattern_of(const Opened& opened) {
  if (opened.pattern.planes.empty()) return std::nullopt;
  return health::Pattern{opened.pattern.columns_rms_adu(), opened.pattern.rows_rms_adu(),
                         opened.pattern.significant()};
}

std::optional<health::Optics> optics_of(const InspectOptions& options) {
  if (options.aperture_mm <= 0) return std::nullopt;
  return health::Optics{options.aperture_mm, options.focal_length_mm, options.pixel_um,
                        options.wavelength_nm};
}

}  // namespace

void inspect(const InspectOptions& options, const Progress& progress) {
  if (!options.plot.empty()) check_output(options.plot, options.input);
  const auto metric = parse_metric(options.input.metric);
  const Opened opened = open_to_inspect(options.input, progress);
  capture::FrameStore& frames = *opened.frames;
  const health::HealthOptions wanted{metric, calibrates(options.input), pattern_of(opened)};
  InspectReport report;
  report.health = health::examine(frames, wanted, progress);
  report.info = frames.info();
  report.optics = optics_of(options);
  report.findings = health::findings_of(report.info, report.health, report.optics);
  if (!options.plot.empty()) {
    Results results;
    results.add(options.plot,
                [&](const auto& path) { output::write_file(path, inspect_plot(report)); });
    results.commit();
  }
  if (options.input.json) {
    fmt::print("{}\n", inspect_json(report).dump(1));
  } else {
    fmt::print("{}", inspect_text(report));
  }
}

}  // namespace lull::app
