#include "cli/presentation.h"

#include "run/option_kinds.h"

namespace lull::cli {

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
  table.push_back(run::switch_option<Presentation>(
      {.name = "--json",
       .group = OptionGroup::machine,
       .help = "Print figures as JSON; progress and errors, on standard error, as a "
               "JSON object a line"},
      &Presentation::form, Form::text, Form::json));
  table.push_back(run::switch_option<Presentation>(
      {.name = "--quiet", .group = OptionGroup::machine, .help = "No progress line"},
      &Presentation::verbosity, Verbosity::normal, Verbosity::quiet));
  return table;
}

}  // namespace lull::cli
