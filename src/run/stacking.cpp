#include "run/stacking.h"

#include <fmt/format.h>

#include <string>

#include "run/option_kinds.h"

namespace lull::run {

namespace {

constexpr double kSmallestPatch = 16;
constexpr double kLargestPatch = 1024;
constexpr double kLargestScale = 3;
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

void add_frame_options(OptionTable<Stacking>& table) {
  table.push_back(
      parsed_option<Stacking>({.name = "--keep",
                               .value = "auto|15%|300",
                               .group = OptionGroup::frames,
                               .help = "Frames to keep: auto, a share or a number",
                               .in_recipe = InRecipe::fixed,
                               .card = "KEEP",
                               .card_comment = "option: part of the frames kept"},
                              &Stacking::keep, quality::parse_keep,
                              [](const quality::Keep& keep) { return quality::to_string(keep); }));
  table.push_back(parsed_option<Stacking>({.name = "--patch",
                                           .value = "auto|PX",
                                           .group = OptionGroup::registration,
                                           .help = "Side of the patches that move on their own, px",
                                           .in_recipe = InRecipe::fixed},
                                          &Stacking::patch_px, parse_patch, print_patch));
  table.push_back(word_option<Stacking>(
      {.name = "--frame",
       .value = "covered|whole",
       .group = OptionGroup::registration,
       .help = "Area of the picture: covered is cut to what most frames show",
       .in_recipe = InRecipe::fixed},
      &Stacking::area,
      Words<FrameArea>{{FrameArea::covered, "covered"}, {FrameArea::whole, "whole"}}));
}

void add_stacking_options(OptionTable<Stacking>& table) {
  table.push_back(
      word_option<Stacking>({.name = "--dispersion",
                             .value = "auto|off",
                             .group = OptionGroup::registration,
                             .help = "Register the colours to each other",
                             .in_recipe = InRecipe::fixed},
                            &Stacking::dispersion,
                            Words<DispersionChoice>{{DispersionChoice::automatic, "auto"},
                                                    {DispersionChoice::off, "off"}}));
  table.push_back(word_option<Stacking>(
      {.name = "--fusion",
       .value = "auto|frequency|selection",
       .group = OptionGroup::registration,
       .help = "Sum frames frequency by frequency, or by the sharpness of their patches alone",
       .in_recipe = InRecipe::fixed,
       .earlier = "selection"},
      &Stacking::fusion,
      Words<FusionChoice>{{FusionChoice::automatic, "auto"},
                          {FusionChoice::frequency, "frequency"},
                          {FusionChoice::selection, "selection"}}));
  table.push_back(parsed_option<Stacking>(
      {.name = "--scale",
       .value = "1..3",
       .group = OptionGroup::registration,
       .help = "Size of the picture, frame = 1; above 1 it is enlarged by drizzle",
       .in_recipe = InRecipe::fixed,
       .earlier = "1"},
      &Stacking::scale,
      [](const std::string& text) {
        return number_within("--scale", text, {1, kLargestScale, ""});
      },
      [](double scale) { return fmt::format("{}", scale); }));
  table.push_back(
      parsed_option<Stacking>({.name = "--pixfrac",
                               .value = "auto|0.1..1",
                               .group = OptionGroup::registration,
                               .help = "Side of a drop of drizzle, pixels of a frame; auto: 0.7",
                               .in_recipe = InRecipe::fixed,
                               .earlier = "auto"},
                              &Stacking::pixfrac, parse_pixfrac, print_pixfrac));
  table.push_back(word_option<Stacking>(
      {.name = "--derotate",
       .value = "off|auto",
       .group = OptionGroup::registration,
       .help = "Long captures of a turning planet: stack pieces in time, bring them to one moment",
       .in_recipe = InRecipe::fixed,
       .earlier = "off"},
      &Stacking::derotate,
      Words<DerotateChoice>{{DerotateChoice::off, "off"}, {DerotateChoice::automatic, "auto"}}));
}

OptionTable<Stacking> make_stacking_options() {
  OptionTable<Stacking> table;
  add_frame_options(table);
  add_stacking_options(table);
  return table;
}

}  // namespace

const OptionTable<Stacking>& stacking_options() {
  static const OptionTable<Stacking> table = make_stacking_options();
  return table;
}

}  // namespace lull::run
