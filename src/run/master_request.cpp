#include "run/master_request.h"

#include "run/option_kinds.h"
#include "run/part_options.h"

namespace lull::run {

namespace {

using calibrate::MasterKind;

Option<MasterRequest> inputs_option() {
  return {{.name = "capture",
           .value = "CAPTURE",
           .group = OptionGroup::input,
           .help = "Captures, images or folders of these, combined",
           .presence = Presence::once_or_more},
          [](MasterRequest& request, const std::string& text) {
            request.inputs.push_back(file_name("capture", text));
          },
          [](const MasterRequest& request) { return nlohmann::json(request.inputs); },
          [](MasterRequest& request) { request.inputs.clear(); }};
}

OptionTable<MasterRequest> make_master_options() {
  OptionTable<MasterRequest> table = {inputs_option()};
  append(table, options_of_part(&MasterRequest::part, part_options()));
  table.push_back(file_option<MasterRequest>({.name = "--output",
                                              .value = "FILE",
                                              .group = OptionGroup::results,
                                              .help = "The master: .fits or .fit; without it "
                                                      "the input's name with _dark or _flat",
                                              .short_name = "-o"},
                                             &MasterRequest::output));
  table.push_back(word_option<MasterRequest>(
      {.name = "--kind",
       .value = "dark|flat",
       .group = OptionGroup::calibration,
       .help = "What the frames are",
       .presence = Presence::once},
      &MasterRequest::kind,
      Words<std::optional<MasterKind>>{{MasterKind::dark, "dark"}, {MasterKind::flat, "flat"}}));
  table.push_back(file_option<MasterRequest>({.name = "--flat-dark",
                                              .value = "FILE",
                                              .group = OptionGroup::calibration,
                                              .help = "Dark of the flat, subtracted from it"},
                                             &MasterRequest::flat_dark));
  return table;
}

}  // namespace

const OptionTable<MasterRequest>& master_options() {
  static const OptionTable<MasterRequest> table = make_master_options();
  return table;
}

}  // namespace lull::run
