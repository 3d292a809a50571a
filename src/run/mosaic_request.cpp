#include "run/mosaic_request.h"

#include "run/option_kinds.h"

namespace lull::run {

namespace {

OptionTable<MosaicRequest> make_mosaic_options() {
  using mosaic::Bends;
  using mosaic::Blurs;
  using mosaic::Lights;
  OptionTable<MosaicRequest> table = {files_option<MosaicRequest>(
      {.name = "panel",
       .value = "PANEL",
       .group = OptionGroup::input,
       .help = "Linear stacks (.linear.fits) of parts that overlap, or pictures of them",
       .in_recipe = InRecipe::may_change,
       .presence = Presence::once_or_more},
      &MosaicRequest::panels)};
  table.push_back(file_option<MosaicRequest>({.name = "--output",
                                              .value = "FILE",
                                              .group = OptionGroup::results,
                                              .help = "The picture: .tif, .png or .fits; without "
                                                      "it the first panel's name with _mosaic.tif",
                                              .short_name = "-o"},
                                             &MosaicRequest::output));
  table.push_back(
      file_option<MosaicRequest>({.name = "--plot",
                                  .value = "FILE",
                                  .group = OptionGroup::results,
                                  .help = "Draw where the panels lie, and which overlap, as SVG"},
                                 &MosaicRequest::plot));
  table.push_back(word_option<MosaicRequest>(
      {.name = "--field",
       .value = "auto|off",
       .group = OptionGroup::registration,
       .help = "Follow what the air has bent in each panel, by a smooth field",
       .in_recipe = InRecipe::fixed},
      &MosaicRequest::field, Words<Bends>{{Bends::followed, "auto"}, {Bends::left, "off"}}));
  table.push_back(word_option<MosaicRequest>(
      {.name = "--limb",
       .value = "auto|circle|off",
       .group = OptionGroup::registration,
       .help = "Lay the edge of the disc onto a circle; auto: for the Sun",
       .in_recipe = InRecipe::fixed,
       .earlier = "off"},
      &MosaicRequest::limb,
      Words<LimbCircle>{{LimbCircle::automatic, "auto"},
                        {LimbCircle::used, "circle"},
                        {LimbCircle::left, "off"}}));
  table.push_back(word_option<MosaicRequest>(
      {.name = "--blur-match",
       .value = "auto|off",
       .group = OptionGroup::registration,
       .help = "Bring panels of different air to one blur",
       .in_recipe = InRecipe::fixed},
      &MosaicRequest::blur_match, Words<Blurs>{{Blurs::matched, "auto"}, {Blurs::left, "off"}}));
  table.push_back(word_option<MosaicRequest>(
      {.name = "--light",
       .value = "auto|off",
       .group = OptionGroup::registration,
       .help = "Bring all panels to one light: thin cloud, haze, vignetting that is left",
       .in_recipe = InRecipe::fixed},
      &MosaicRequest::light, Words<Lights>{{Lights::matched, "auto"}, {Lights::left, "off"}}));
  append(table, options_of_part(&MosaicRequest::look, look_options()));
  table.push_back(report_option(&MosaicRequest::report));
  return table;
}

}  // namespace

const OptionTable<MosaicRequest>& mosaic_options() {
  static const OptionTable<MosaicRequest> table = make_mosaic_options();
  return table;
}

}  // namespace lull::run
