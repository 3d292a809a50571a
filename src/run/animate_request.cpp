#include "run/animate_request.h"

#include "run/option_kinds.h"

namespace lull::run {

namespace {

constexpr int kMostPlays = 1000;

int parse_plays(const std::string& text) {
  if (text == "forever") return 0;
  return static_cast<int>(whole_number_within("--loop", text, 1, kMostPlays));
}

std::string print_plays(int plays) { return plays == 0 ? "forever" : std::to_string(plays); }

void add_playing(OptionTable<AnimateRequest>& table) {
  table.push_back(number_option<AnimateRequest>(
      {.name = "--speed", .value = "N", .group = OptionGroup::frames, .help = "Pictures a second"},
      &AnimateRequest::speed, {0.1, 60, "a second"}));
  table.push_back(switch_option<AnimateRequest>(
      {.name = "--ping-pong",
       .group = OptionGroup::frames,
       .help = "Play the pictures forward and then backward"},
      &AnimateRequest::order, PlayOrder::forward, PlayOrder::there_and_back));
  table.push_back(parsed_option<AnimateRequest>(
      {.name = "--loop",
       .value = "forever|N",
       .group = OptionGroup::frames,
       .help = "How often the film plays; in MP4 and WebM forever is up to the player"},
      &AnimateRequest::plays, parse_plays, print_plays));
}

void add_rendering(OptionTable<AnimateRequest>& table) {
  using finish::Tone;
  table.push_back(word_option<AnimateRequest>(
      {.name = "--align",
       .value = "auto|off",
       .group = OptionGroup::registration,
       .help = "Shift and turn the pictures onto the middle one"},
      &AnimateRequest::align,
      Words<FilmAlign>{{FilmAlign::automatic, "auto"}, {FilmAlign::off, "off"}}));
  table.push_back(word_option<AnimateRequest>(
      {.name = "--light",
       .value = "even|kept",
       .group = OptionGroup::tone,
       .help = "Bring all pictures to the brightness of the middle one, or keep it"},
      &AnimateRequest::light,
      Words<FilmLight>{{FilmLight::even, "even"}, {FilmLight::kept, "kept"}}));
  table.push_back(word_option<AnimateRequest>(
      {.name = "--tone",
       .value = "gamma|asinh",
       .group = OptionGroup::tone,
       .help = "Brightness: gamma (sRGB, for screens); asinh (brightens faint parts)"},
      &AnimateRequest::tone, Words<Tone>{{Tone::gamma, "gamma"}, {Tone::asinh, "asinh"}}));
}

OptionTable<AnimateRequest> make_animate_options() {
  OptionTable<AnimateRequest> table = {files_option<AnimateRequest>(
      {.name = "picture",
       .value = "PICTURE",
       .group = OptionGroup::input,
       .help = "Linear stacks (.linear.fits), or TIFF, PNG and FITS pictures; two or more",
       .presence = Presence::once_or_more},
      &AnimateRequest::pictures)};
  table.push_back(
      file_option<AnimateRequest>({.name = "--output",
                                   .value = "FILE",
                                   .group = OptionGroup::results,
                                   .help = "The film: .mp4, .webm, .gif or .png (animated)",
                                   .short_name = "-o",
                                   .presence = Presence::once},
                                  &AnimateRequest::output));
  add_playing(table);
  add_rendering(table);
  table.push_back(text_option<AnimateRequest>(
      {.name = "--caption",
       .value = "date|TEXT",
       .group = OptionGroup::results,
       .help = "A text under each picture, or date: when it was recorded (UTC)"},
      &AnimateRequest::caption));
  return table;
}

}  // namespace

const OptionTable<AnimateRequest>& animate_options() {
  static const OptionTable<AnimateRequest> table = make_animate_options();
  return table;
}

}  // namespace lull::run
