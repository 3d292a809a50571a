#include "run/inspect_request.h"

#include "run/option_kinds.h"

namespace lull::run {

namespace {

OptionTable<InspectRequest> make_inspect_options() {
  OptionTable<InspectRequest> table =
      options_of_part(&InspectRequest::input, capture_options(CaptureNames::one));
  append(table, options_of_part(&InspectRequest::instrument, instrument_options()));
  table.push_back(object_option(&InspectRequest::object));
  table.push_back(file_option<InspectRequest>(
      {.name = "--plot",
       .value = "FILE",
       .group = OptionGroup::results,
       .help = "Draw levels, sharpness, path and detail over the capture as SVG"},
      &InspectRequest::plot));
  return table;
}

}  // namespace

const OptionTable<InspectRequest>& inspect_options() {
  static const OptionTable<InspectRequest> table = make_inspect_options();
  return table;
}

}  // namespace lull::run
