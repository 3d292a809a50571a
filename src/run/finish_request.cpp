#include "run/finish_request.h"

#include "run/option_kinds.h"

namespace lull::run {

namespace {

OptionTable<FinishRequest> make_finish_options() {
  OptionTable<FinishRequest> table;
  table.push_back(file_option<FinishRequest>(
      {.name = "stack",
       .value = "STACK",
       .group = OptionGroup::input,
       .help = "A linear stack (.linear.fits), or any linear TIFF, PNG or FITS picture",
       .presence = Presence::once},
      &FinishRequest::input));
  table.push_back(file_option<FinishRequest>({.name = "--output",
                                              .value = "FILE",
                                              .group = OptionGroup::results,
                                              .help = "The picture: .tif, .png or .fits; without "
                                                      "it the stack's name with _finished.tif",
                                              .short_name = "-o"},
                                             &FinishRequest::output));
  append(table, options_of_part(&FinishRequest::look, look_options()));
  table.push_back(report_option(&FinishRequest::report));
  return table;
}

}  // namespace

const OptionTable<FinishRequest>& finish_options() {
  static const OptionTable<FinishRequest> table = make_finish_options();
  return table;
}

}  // namespace lull::run
