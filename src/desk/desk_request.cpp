#include "desk/desk_request.h"

#include <filesystem>

#include "run/option_kinds.h"

namespace lull::desk {

namespace {

constexpr int kHighestPort = 65'535;

run::OptionTable<DeskRequest> make_options() {
  using run::OptionGroup;
  run::OptionTable<DeskRequest> table;
  table.push_back(run::file_option<DeskRequest>(
      {.name = "folder",
       .value = "FOLDER",
       .group = OptionGroup::input,
       .help = "The folder of the captures; the working folder where none is given"},
      &DeskRequest::folder));
  table.push_back(run::file_option<DeskRequest>(
      {.name = "--results",
       .value = "FOLDER",
       .group = OptionGroup::results,
       .help = "Folder for results, made when needed; 'results' in that of the captures where none "
               "is given"},
      &DeskRequest::results));
  table.push_back(run::file_option<DeskRequest>(
      {.name = "--profile",
       .value = "FILE",
       .group = OptionGroup::instrument,
       .help = "Profile of the instrument: its file or its name; what the forms begin with"},
      &DeskRequest::profile));
  table.push_back(run::parsed_option<DeskRequest>(
      {.name = "--port",
       .value = "auto|N",
       .group = OptionGroup::machine,
       .help = "Port at which the desk listens; auto = any that is free"},
      &DeskRequest::port,
      [](const std::string& text) {
        if (text == "auto") return 0;
        return static_cast<int>(run::whole_number_within("--port", text, 1, kHighestPort));
      },
      [](int port) { return port == 0 ? std::string("auto") : std::to_string(port); }));
  table.push_back(run::text_option<DeskRequest>(
      {.name = "--listen",
       .value = "ADDRESS",
       .group = OptionGroup::machine,
       .help = "Address at which the desk listens; 127.0.0.1 is this machine alone"},
      &DeskRequest::listen));
  table.push_back(
      run::switch_option<DeskRequest>({.name = "--no-open",
                                       .group = OptionGroup::machine,
                                       .help = "Open no browser, print the address alone"},
                                      &DeskRequest::browser, Browser::opened, Browser::left));
  return table;
}

}  // namespace

std::string DeskRequest::results_folder() const {
  if (!results.empty()) return results;
  return (std::filesystem::path(folder) / "results").string();
}

const run::OptionTable<DeskRequest>& desk_options() {
  static const run::OptionTable<DeskRequest> table = make_options();
  return table;
}

}  // namespace lull::desk
