#include "run/merge_request.h"

#include "run/option_kinds.h"

namespace lull::run {

namespace {

Option<MergeRequest> stack_option(const char* name, const char* help, Presence presence,
                                  std::string MergeRequest::*member) {
  return file_option<MergeRequest>({.name = name,
                                    .value = "STACK",
                                    .group = OptionGroup::input,
                                    .help = help,
                                    .in_recipe = InRecipe::may_change,
                                    .presence = presence},
                                   member);
}

OptionTable<MergeRequest> make_merge_options() {
  using merge::Bend;
  using merge::BlurMatch;
  OptionTable<MergeRequest> table;
  table.push_back(stack_option("--red", "The linear stack through the red filter (.linear.fits)",
                               Presence::once, &MergeRequest::red));
  table.push_back(stack_option("--green", "The linear stack through the green filter",
                               Presence::once, &MergeRequest::green));
  table.push_back(stack_option("--blue", "The linear stack through the blue filter", Presence::once,
                               &MergeRequest::blue));
  table.push_back(stack_option("--luminance",
                               "A linear stack of all the light, from which detail is taken",
                               Presence::optional, &MergeRequest::luminance));
  table.push_back(file_option<MergeRequest>({.name = "--output",
                                             .value = "FILE",
                                             .group = OptionGroup::results,
                                             .help = "The picture: .tif, .png or .fits; without "
                                                     "it the green stack's name with _merged.tif",
                                             .short_name = "-o"},
                                            &MergeRequest::output));
  table.push_back(word_option<MergeRequest>(
      {.name = "--field",
       .value = "auto|off",
       .group = OptionGroup::registration,
       .help = "Follow what the air has bent, by a smooth field, besides shift, turn and scale",
       .in_recipe = InRecipe::fixed},
      &MergeRequest::field, Words<Bend>{{Bend::followed, "auto"}, {Bend::left, "off"}}));
  table.push_back(word_option<MergeRequest>(
      {.name = "--blur-match",
       .value = "auto|off",
       .group = OptionGroup::registration,
       .help = "Bring all stacks to one blur, so that edges get no coloured fringes",
       .in_recipe = InRecipe::fixed},
      &MergeRequest::blur_match,
      Words<BlurMatch>{{BlurMatch::to_the_grid, "auto"}, {BlurMatch::left, "off"}}));
  append(table, options_of_part(&MergeRequest::look, look_options()));
  table.push_back(report_option(&MergeRequest::report));
  return table;
}

}  // namespace

std::vector<std::string> MergeRequest::stacks() const {
  std::vector<std::string> out = {red, green, blue};
  if (!luminance.empty()) out.push_back(luminance);
  return out;
}

const OptionTable<MergeRequest>& merge_options() {
  static const OptionTable<MergeRequest> table = make_merge_options();
  return table;
}

}  // namespace lull::run
