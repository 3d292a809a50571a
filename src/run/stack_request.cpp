#include "run/stack_request.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <filesystem>

#include "run/option_kinds.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;

constexpr double kSmallestPatch = 16;
constexpr double kLargestPatch = 1024;
constexpr double kSmallestDrop = 0.1;  // pixels of a frame

double parse_patch(const std::string& text) {
  if (text == "auto") return 0;
  return number_within("--patch", text, {kSmallestPatch, kLargestPatch, "px, or auto"});
}

std::string print_patch(double patch_px) {
  return patch_px == 0 ? "auto" : fmt::format("{}", patch_px);
}

std::optional<double> parse_pixfrac(const std::string& text) {
  if (text == "auto") return std::nullopt;
  return number_within("--pixfrac", text, {kSmallestDrop, 1, "pixels of a frame, or auto"});
}

std::string print_pixfrac(const std::optional<double>& pixfrac) {
  return pixfrac ? fmt::format("{}", *pixfrac) : "auto";
}

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

void add_frame_options(OptionTable<StackRequest>& table) {
  table.push_back(parsed_option<StackRequest>(
      {.name = "--keep",
       .value = "auto|15%|300",
       .group = OptionGroup::frames,
       .help = "Frames to keep: auto, a share or a number",
       .in_recipe = InRecipe::fixed,
       .card = "KEEP",
       .card_comment = "option: part of the frames kept"},
      &StackRequest::keep, quality::parse_keep,
      [](const quality::Keep& keep) { return quality::to_string(keep); }));
  table.push_back(parsed_option<StackRequest>({.name = "--patch",
                                               .value = "auto|PX",
                                               .group = OptionGroup::registration,
                                               .help = "Side of the patches, px",
                                               .in_recipe = InRecipe::fixed},
                                              &StackRequest::patch_px, parse_patch, print_patch));
  table.push_back(word_option<StackRequest>(
      {.name = "--frame",
       .value = "covered|whole",
       .group = OptionGroup::registration,
       .help = "Area of the picture: covered is cut to what most frames show",
       .in_recipe = InRecipe::fixed},
      &StackRequest::area,
      Words<FrameArea>{{FrameArea::covered, "covered"}, {FrameArea::whole, "whole"}}));
}

void add_stacking_options(OptionTable<StackRequest>& table) {
  table.push_back(
      word_option<StackRequest>({.name = "--dispersion",
                                 .value = "auto|off",
                                 .group = OptionGroup::registration,
                                 .help = "Register the colours to each other",
                                 .in_recipe = InRecipe::fixed},
                                &StackRequest::dispersion,
                                Words<DispersionChoice>{{DispersionChoice::automatic, "auto"},
                                                        {DispersionChoice::off, "off"}}));
  table.push_back(word_option<StackRequest>(
      {.name = "--fusion",
       .value = "auto|frequency|selection",
       .group = OptionGroup::registration,
       .help = "Sum frames frequency by frequency, or by the sharpness of their patches alone",
       .in_recipe = InRecipe::fixed,
       .earlier = "selection"},
      &StackRequest::fusion,
      Words<FusionChoice>{{FusionChoice::automatic, "auto"},
                          {FusionChoice::frequency, "frequency"},
                          {FusionChoice::selection, "selection"}}));
  table.push_back(word_option<StackRequest>(
      {.name = "--scale",
       .value = "1|1.5|2|3",
       .group = OptionGroup::registration,
       .help = "Size of the picture, frame = 1; above 1 it is enlarged by drizzle",
       .in_recipe = InRecipe::fixed,
       .earlier = "1"},
      &StackRequest::scale, Words<double>{{1, "1"}, {1.5, "1.5"}, {2, "2"}, {3, "3"}}));
  table.push_back(parsed_option<StackRequest>(
      {.name = "--pixfrac",
       .value = "auto|0.1..1",
       .group = OptionGroup::registration,
       .help = "Side of a drop of drizzle, pixels of a frame; auto: 0.7",
       .in_recipe = InRecipe::fixed,
       .earlier = "auto"},
      &StackRequest::pixfrac, parse_pixfrac, print_pixfrac));
}

OptionTable<StackRequest> make_stack_options() {
  OptionTable<StackRequest> table =
      options_of_part(&StackRequest::input, capture_options(CaptureName::from_recipe));
  table.push_back(file_option<StackRequest>({.name = "--output",
                                             .value = "FILE",
                                             .group = OptionGroup::results,
                                             .help = "The picture: .tif, .png or .fits",
                                             .short_name = "-o",
                                             .required = true},
                                            &StackRequest::output));
  append(table, options_of_part(&StackRequest::input, pattern_options()));
  add_frame_options(table);
  add_stacking_options(table);
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
