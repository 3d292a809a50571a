#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include "app/commands.h"
#include "app/inspect_report.h"
#include "app/results.h"
#include "app/sun_caution.h"

namespace lull::app {

void inspect(const InspectOptions& options, const Progress& progress) {
  static_cast<void>(parse_object(options.object));
  if (!options.plot.empty()) check_output(options.plot, options.input);
  const auto metric = parse_metric(options.input.metric);
  const Opened opened = open_to_inspect(options.input, progress);
  capture::FrameStore& frames = *opened.frames;
  const health::HealthOptions wanted{metric, calibrates(options.input), pattern_of(opened), false};
  InspectReport report;
  report.health = health::examine(frames, wanted, progress);
  report.info = frames.info();
  report.optics = optics_of(options.optics);
  report.caution =
      sun_caution(parse_object(options.object), options.input.capture, report.health.place.kind);
  report.findings = health::findings_of(report.info, report.health, report.optics);
  if (!options.plot.empty()) {
    Results results;
    results.add(options.plot,
                [&](const auto& path) { files::write_file(path, inspect_plot(report)); });
    results.commit();
  }
  if (options.input.json) {
    fmt::print("{}\n", inspect_json(report).dump(1));
  } else {
    fmt::print("{}", inspect_text(report));
  }
}

}  // namespace lull::app
