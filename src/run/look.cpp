#include "run/look.h"

#include <fmt/format.h>

#include <charconv>

#include "core/choices.h"
#include "files/share.h"
#include "run/look_geometry.h"
#include "run/option_kinds.h"

namespace lull::run {

namespace {

constexpr double kFinest = 1;  // px: narrower features do not show
constexpr double kCoarsest = 1000;
constexpr double kMostGain = 20;
constexpr std::size_t kMostPoints = 20;
constexpr double kMostLight = 1000;
constexpr double kNarrowestBlur = 0.3;  // px
constexpr double kWidestBlur = 50;
constexpr const char* kExample = "1.5:2.0,3:1.6,8:1.1";

UsageError bad_curve(const std::string& text, const std::string& why) {
  return UsageError(fmt::format(
      "--detail {}: {}. Give sizes of features in pixels, rising, each with its gain, such as {}",
      text, why, kExample));
}

std::optional<double> number_at(const char*& at, const char* end) {
  double value = 0;
  const auto [stop, error] = std::from_chars(at, end, value);
  if (error != std::errc()) return std::nullopt;
  at = stop;
  return value;
}

// "SIZE:GAIN" at a place in the text, which moves behind it.
std::optional<finish::DetailPoint> point_at(const char*& at, const char* end) {
  const auto size = number_at(at, end);
  if (!size || at == end || *at++ != ':') return std::nullopt;
  const auto gain = number_at(at, end);
  if (!gain) return std::nullopt;
  return finish::DetailPoint{*size, *gain};
}

void check_point(const std::string& text, const finish::DetailPoint& point, double before_px) {
  if (!(point.size_px >= kFinest && point.size_px <= kCoarsest)) {
    throw bad_curve(text, fmt::format("a feature of {} px is not between {} and {} px",
                                      point.size_px, kFinest, kCoarsest));
  }
  if (!(point.gain >= 0 && point.gain <= kMostGain)) {
    throw bad_curve(
        text, fmt::format("the gain {} is not between 0 (removed) and {}", point.gain, kMostGain));
  }
  if (!(point.size_px > before_px)) {
    throw bad_curve(text, fmt::format("{} px does not come after {} px", point.size_px, before_px));
  }
}

DetailChoice parse_detail(const std::string& text) {
  if (text == "auto") return RestoreDetail{};
  if (text == "none") return LeaveDetail{};
  return parse_detail_points(text);
}

std::string print_detail(const DetailChoice& detail) {
  if (std::holds_alternative<RestoreDetail>(detail)) return "auto";
  if (std::holds_alternative<LeaveDetail>(detail)) return "none";
  std::string text;
  for (const finish::DetailPoint& point : std::get<std::vector<finish::DetailPoint>>(detail))
    text += fmt::format("{}{}:{}", text.empty() ? "" : ",", point.size_px, point.gain);
  return text;
}

// None for auto.
std::optional<double> parse_level(const char* option, const std::string& text) {
  if (text == "auto") return std::nullopt;
  return number_within(option, text, {-kMostLight, kMostLight, "or auto; 1 is full scale"});
}

std::string print_level(const std::optional<double>& level) {
  return level ? fmt::format("{}", *level) : "auto";
}

void add_detail_options(OptionTable<Look>& table) {
  table.push_back(parsed_option<Look>(
      {.name = "--detail",
       .value = "auto|none|PX:GAIN,...",
       .group = OptionGroup::detail,
       .help = fmt::format("Detail: auto, none, or gains over feature size in px, such as {}",
                           kExample),
       .in_recipe = InRecipe::fixed,
       .earlier = "auto"},
      &Look::detail, parse_detail, print_detail));
  table.push_back(
      number_option<Look>({.name = "--blur",
                           .value = "PX",
                           .group = OptionGroup::detail,
                           .help = "Undo a Gaussian blur of this full width at half maximum, px",
                           .in_recipe = InRecipe::fixed,
                           .earlier = "0"},
                          &Look::blur_px, {kNarrowestBlur, kWidestBlur, "px"}));
  table.push_back(number_option<Look>(
      {.name = "--restraint",
       .value = "0..1",
       .group = OptionGroup::detail,
       .help = "1: raise only detail above the noise; 0: apply the gains in full",
       .in_recipe = InRecipe::fixed,
       .earlier = "1",
       .card = "RESTRAIN",
       .card_comment = "1 = only detail that is certain"},
      &Look::restraint, {0, 1}));
}

void add_colour_options(OptionTable<Look>& table) {
  table.push_back(parsed_option<Look>(
      {.name = "--white-balance",
       .value = "auto|none|grey|sunlight|R,G,B",
       .group = OptionGroup::colour,
       .help = "Colours: grey (the object's mean is gray), sunlight (its published colour; auto "
               "where --object names such a planet), none, or factors",
       .in_recipe = InRecipe::fixed,
       .earlier = "none",
       .card = "WHITEBAL",
       .card_comment = "white balance"},
      &Look::white_balance, parse_white_balance, print_white_balance));
  table.push_back(
      number_option<Look>({.name = "--saturation",
                           .value = "0..5",
                           .group = OptionGroup::colour,
                           .help = "Strength of the colours: 0 gray, 1 unchanged, up to 5",
                           .in_recipe = InRecipe::fixed,
                           .earlier = "1",
                           .card = "SATURATE",
                           .card_comment = "of the colours"},
                          &Look::saturation, {0, 5}));
}

void add_channel_offsets(OptionTable<Look>& table) {
  table.push_back(parsed_option<Look>(
      {.name = "--channel-offsets",
       .value = "RX,RY,BX,BY",
       .group = OptionGroup::colour,
       .help = "Move red and blue by these px to the right and down, against fringes that are left",
       .in_recipe = InRecipe::fixed,
       .earlier = "0,0,0,0",
       .card = "CHANOFF",
       .card_comment = "[px] red x, y, blue x, y moved by hand"},
      &Look::channel_offsets, parse_channel_offsets, print_channel_offsets));
}

void add_tone_options(OptionTable<Look>& table) {
  using finish::Tone;
  table.push_back(
      switch_option<Look>({.name = "--flatten-limb",
                           .group = OptionGroup::tone,
                           .help = "Divide out the darkening of the Sun towards its limb",
                           .in_recipe = InRecipe::fixed,
                           .earlier = "false",
                           .card = "FLATLIMB",
                           .card_comment = "darkening to the limb divided out"},
                          &Look::limb, LimbLight::kept, LimbLight::flattened));
  table.push_back(word_option<Look>(
      {.name = "--tone",
       .value = "linear|gamma|asinh",
       .group = OptionGroup::tone,
       .help = "Brightness: linear; gamma (sRGB, for screens); asinh (brightens faint parts)",
       .in_recipe = InRecipe::fixed,
       .earlier = "linear",
       .card = "TONE",
       .card_comment = "curve from light"},
      &Look::tone,
      Words<Tone>{{Tone::linear, "linear"}, {Tone::gamma, "gamma"}, {Tone::asinh, "asinh"}}));
  const auto level = [&table](const char* name, const char* help,
                              std::optional<double> Look::*member) {
    table.push_back(parsed_option<Look>(
        {.name = name,
         .value = "auto|LIGHT",
         .group = OptionGroup::tone,
         .help = help,
         .in_recipe = InRecipe::fixed,
         .earlier = "auto"},
        member, [name](const std::string& text) { return parse_level(name, text); }, print_level));
  };
  level("--black", "Level that becomes black: auto (the sky; linear: 0) or a number", &Look::black);
  level("--white", "Level that becomes white: auto (the object is bright) or a number",
        &Look::white);
}

void add_share_options(OptionTable<Look>& table) {
  table.push_back(
      file_option<Look>({.name = "--share",
                         .value = "FILE",
                         .group = OptionGroup::results,
                         .help = "Also write a copy of 8 bits for screens: .jpg or .png"},
                        &Look::share));
  table.push_back(text_option<Look>(
      {.name = "--caption",
       .value = "auto|TEXT",
       .group = OptionGroup::results,
       .help = "A text under that copy, or auto: object, time, aperture, resolution, frames kept",
       .needs = {"--share"}},
      &Look::caption));
  table.push_back(switch_option<Look>(
      {.name = "--scale-bar",
       .group = OptionGroup::results,
       .help = "A bar of round length under that copy, in arcseconds where the optics are known",
       .needs = {"--share"}},
      &Look::scale_bar, ScaleBarChoice::none, ScaleBarChoice::drawn));
}

OptionTable<Look> make_look_options() {
  OptionTable<Look> table;
  add_detail_options(table);
  add_colour_options(table);
  add_channel_offsets(table);
  add_tone_options(table);
  append(table, options_of_part(&Look::pose, pose_options()));
  add_share_options(table);
  table.push_back(object_option(&Look::object));
  return table;
}

}  // namespace

bool Look::changes_picture(bool has_colour) const {
  const bool balances =
      has_colour && settled(white_balance, object) != WhiteBalanceChoice(WhiteBalanceRule::none);
  const bool moves = has_colour && channel_offsets.any();
  return !leaves_detail() || balances || moves || saturation != 1 || limb == LimbLight::flattened ||
         tone != finish::Tone::linear || pose.changes();
}

const OptionTable<Look>& look_options() {
  static const OptionTable<Look> table = make_look_options();
  return table;
}

std::vector<finish::DetailPoint> parse_detail_points(const std::string& text) {
  std::vector<finish::DetailPoint> points;
  const char* at = text.data();
  const char* end = at + text.size();
  do {
    const auto point = point_at(at, end);
    if (!point || (at != end && *at != ','))
      throw bad_curve(text, "this is neither auto, none nor a list of sizes and gains");
    check_point(text, *point, points.empty() ? 0 : points.back().size_px);
    points.push_back(*point);
    if (points.size() > kMostPoints)
      throw bad_curve(text, fmt::format("more than {} points", kMostPoints));
  } while (at++ != end);
  return points;
}

finish::DetailPlan detail_plan(const Look& look) {
  if (look.leaves_detail()) return {finish::KeepDetail{}, look.restraint};
  if (const auto* points = std::get_if<std::vector<finish::DetailPoint>>(&look.detail))
    return {finish::DetailCurve(*points), look.restraint};
  if (look.blur_px > 0) return {finish::UndoGaussian{look.blur_px}, look.restraint};
  return {finish::UndoAir{}, look.restraint};
}

void check_look(const Look& look) {
  check_complete(look_options(), look);
  if (look.blur_px > 0 && !std::holds_alternative<RestoreDetail>(look.detail)) {
    throw UsageError(
        fmt::format("--blur {} and --detail {} both treat the same detail; leave out one of them",
                    look.blur_px, print_detail(look.detail)));
  }
  if (!look.share.empty()) files::check_share_name(look.share);
  if (look.white && !(*look.white > look.black.value_or(0))) {
    throw UsageError(
        fmt::format("--white {} must be above --black {}", *look.white, look.black.value_or(0)));
  }
}

void check_colours(const Look& look, std::size_t channels, const std::string& name) {
  if (channels == 3) return;
  for (const char* option : {"--white-balance", "--saturation", "--channel-offsets"}) {
    const Option<Look>& row = option_named(look_options(), option);
    if (!is_given(row, look)) continue;
    throw UsageError(fmt::format(
        "{} {}: {} has no colours; leave out the option, or name the mosaic by --cfa when stacking",
        option, option_text(row.get(look)), name));
  }
}

std::vector<files::Card> look_cards(const Look& look) {
  const std::string how =
      look.blur_px > 0 ? fmt::format("blur {}", look.blur_px) : print_detail(look.detail);
  std::vector<files::Card> cards = {{"FINISH", how, "detail restoration"}};
  for (const Option<Look>& option : look_options()) {
    if (!option.facts.card.empty() && is_given(option, look))
      cards.push_back(card_with(option.facts, option.get(look)));
  }
  return cards;
}

}  // namespace lull::run
