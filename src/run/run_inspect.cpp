#include "files/atomic_file.h"
#include "files/results.h"
#include "run/inspect_outcome.h"
#include "run/opening.h"
#include "run/outputs.h"

namespace lull::run {

InspectOutcome run_inspect(const InspectRequest& request, const RunControl& control) {
  check_complete(inspect_options(), request);
  check_results({request.plot}, request.input.files(), control.resources);
  const Opened opened = open_to_inspect(request.input, control);
  capture::FrameStore& frames = *opened.frames;
  const health::HealthOptions wanted{request.input.metric, samples_of(request.input),
                                     pattern_of(opened)};
  InspectOutcome outcome;
  outcome.health = health::examine(frames, wanted, control.progress);
  outcome.info = frames.info();
  outcome.optics = request.instrument.optics();
  outcome.caution = sun_caution(request.object, request.input.captures, outcome.health.place.kind);
  outcome.findings = health::findings_of(outcome.info, outcome.health, outcome.optics);
  if (!request.plot.empty()) {
    files::Results results;
    results.add(request.plot,
                [&](const auto& path) { files::write_file(path, inspect_plot(outcome)); });
    commit(results, control.resources);
  }
  return outcome;
}

}  // namespace lull::run
