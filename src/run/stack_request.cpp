#include "run/stack_request.h"

#include "run/option_kinds.h"

namespace lull::run {

namespace {

OptionTable<StackRequest> make_stack_options() {
  OptionTable<StackRequest> table =
      options_of_part(&StackRequest::input, capture_options(CaptureNames::several_or_recipe));
  table.push_back(file_option<StackRequest>({.name = "--output",
                                             .value = "FILE",
                                             .group = OptionGroup::results,
                                             .help = "The picture: .tif, .png or .fits; without "
                                                     "it the capture's name with _stack.tif",
                                             .short_name = "-o"},
                                            &StackRequest::output));
  append(table, options_of_part(&StackRequest::input, pattern_options()));
  append(table, options_of_part(&StackRequest::stacking, stacking_options()));
  append(table, options_of_part(&StackRequest::turning, turning_options({"--derotate"})));
  table.push_back(word_option<StackRequest>(
      {.name = "--finish",
       .value = "auto|none",
       .group = OptionGroup::detail,
       .help = "Detail restoration: none leaves the linear stack unchanged",
       .in_recipe = InRecipe::fixed},
      &StackRequest::finish,
      Words<FinishChoice>{{FinishChoice::automatic, "auto"}, {FinishChoice::none, "none"}}));
  append(table, options_of_part(&StackRequest::look, look_options()));
  append(table, options_of_part(&StackRequest::instrument, instrument_options()));
  table.push_back(report_option(&StackRequest::report));
  return table;
}

}  // namespace

const OptionTable<StackRequest>& stack_options() {
  static const OptionTable<StackRequest> table = make_stack_options();
  return table;
}

}  // namespace lull::run
