#include "run/stack_request.h"

#include <algorithm>
#include <cctype>
#include <filesystem>

#include "run/option_kinds.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;

ReportChoice parse_report(const std::string& text) {
  if (text == "auto") return {};
  if (text == "none") return {ReportChoice::Where::nowhere};
  std::string ending = fs::path(text).extension();
  std::transform(ending.begin(), ending.end(), ending.begin(),
                 [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
  if (ending == ".html" || ending == ".htm") return {ReportChoice::Where::file, text};
  throw invalid_value("--report", text,
                      "auto (beside the picture), none, or a name that ends in .html");
}

std::string print_report(const ReportChoice& report) {
  switch (report.where) {
    case ReportChoice::Where::beside:
      return "auto";
    case ReportChoice::Where::nowhere:
      return "none";
    case ReportChoice::Where::file:
      break;
  }
  return report.file;
}

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
  table.push_back(parsed_option<StackRequest>(
      {.name = "--report",
       .value = "auto|none|FILE",
       .group = OptionGroup::results,
       .help = "The page that shows the run: auto (beside the picture), none, or a .html file"},
      &StackRequest::report, parse_report, print_report));
  return table;
}

}  // namespace

std::string StackRequest::report_path() const {
  if (report.where == ReportChoice::Where::nowhere) return {};
  if (report.where == ReportChoice::Where::file) return report.file;
  return fs::path(output).replace_extension(".html");
}

const OptionTable<StackRequest>& stack_options() {
  static const OptionTable<StackRequest> table = make_stack_options();
  return table;
}

}  // namespace lull::run
