#include "cli/presentation.h"

#include "run/option_kinds.h"

namespace lull::cli {

run::OptionTable<Presentation> json_options() {
  return {run::switch_option<Presentation>(
      {.name = "--json",
       .group = run::OptionGroup::machine,
       .help = "Print figures as JSON; progress and errors, on standard error, as a "
               "JSON object a line"},
      &Presentation::form, Form::text, Form::json)};
}

run::OptionTable<Presentation> presentation_options(Repeats repeats) {
  using run::OptionGroup;
  run::OptionTable<Presentation> table;
  if (repeats == Repeats::recipe) {
    table.push_back(run::file_option<Presentation>(
        {.name = "--recipe",
         .value = "FILE",
         .group = OptionGroup::input,
         .help = "Repeat an earlier run with the options of its recipe"},
        &Presentation::recipe));
  }
  table.push_back(run::file_option<Presentation>(
      {.name = "--profile",
       .value = "FILE",
       .group = OptionGroup::instrument,
       .help = "Profile of the instrument: its file or its name; other options win over it"},
      &Presentation::profile));
  run::append(table, json_options());
  table.push_back(run::switch_option<Presentation>(
      {.name = "--quiet", .group = OptionGroup::machine, .help = "No progress line"},
      &Presentation::verbosity, Verbosity::normal, Verbosity::quiet));
  return table;
}

}  // namespace lull::cli
