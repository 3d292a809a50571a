#include "run/derotate_request.h"

#include "run/option_kinds.h"
#include "run/site_options.h"

namespace lull::run {

namespace {

OptionTable<DerotateRequest> make_derotate_options() {
  OptionTable<DerotateRequest> table = {
      files_option<DerotateRequest>({.name = "stack",
                                     .value = "STACK",
                                     .group = OptionGroup::input,
                                     .help = "Linear stacks (.linear.fits) of one planet",
                                     .presence = Presence::once_or_more},
                                    &DerotateRequest::stacks)};
  table.push_back(file_option<DerotateRequest>(
      {.name = "--output",
       .value = "FILE",
       .group = OptionGroup::results,
       .help = "The linear stack of one moment (.fits); without it and --map the first stack's "
               "name with _derotated.linear.fits",
       .short_name = "-o"},
      &DerotateRequest::output));
  table.push_back(object_option(&DerotateRequest::object));
  append(table, options_of_part(&DerotateRequest::turning, turning_options({})));
  table.push_back(site_option(
      &DerotateRequest::site,
      "Where the stacks were recorded: it tells whether the planet was up, and times are UTC"));
  table.push_back(zone_option(&DerotateRequest::zone,
                              "Local time of the site, which a clock may have shown instead"));
  append(table, options_of_part(&DerotateRequest::map, map_options()));
  return table;
}

}  // namespace

const OptionTable<DerotateRequest>& derotate_options() {
  static const OptionTable<DerotateRequest> table = make_derotate_options();
  return table;
}

}  // namespace lull::run
