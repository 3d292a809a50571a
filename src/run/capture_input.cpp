#include "run/capture_input.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "core/choices.h"
#include "run/option_kinds.h"
#include "run/part_options.h"

namespace lull::run {

namespace {

using capture::ByteOrder;
using capture::Cfa;

std::string upper(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return text;
}

Words<std::optional<quality::Metric>> metric_words() {
  Words<std::optional<quality::Metric>> words = {{std::nullopt, "auto"}};
  for (const quality::Metric metric : quality::kMetrics)
    words.emplace_back(metric, quality::metric_name(metric));
  return words;
}

Words<std::optional<Cfa>> cfa_words() {
  Words<std::optional<Cfa>> words = {{std::nullopt, "auto"}};
  for (const Cfa cfa : {Cfa::none, Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg})
    words.emplace_back(cfa, capture::cfa_name(cfa));
  return words;
}

// In either case of letters.
std::optional<Cfa> parse_cfa(const std::string& text) {
  for (const auto& [cfa, word] : cfa_words()) {
    if (upper(word) == upper(text)) return cfa;
  }
  return value_of_word("--cfa", text, cfa_words());
}

// All names would fill a screen, so the message gives the nearest and some that are common.
std::string parse_pixel_format(const std::string& text) {
  if (text == "auto") return {};
  const std::vector<std::string> known = capture::readable_pixel_formats();
  if (std::find(known.begin(), known.end(), text) != known.end()) return text;
  throw invalid_value(
      "--pixel-format", text,
      fmt::format("auto, or one of FFmpeg's names, such as gray, gray16le, bayer_rggb8, bgr24 or "
                  "uyvy422.{}",
                  did_you_mean(text, known)));
}

std::string print_pixel_format(const std::string& name) { return name.empty() ? "auto" : name; }

Presence presence_of(CaptureNames names) {
  if (names == CaptureNames::one) return Presence::once;
  return names == CaptureNames::several_or_recipe ? Presence::any_number : Presence::once_or_more;
}

Option<CaptureInput> names_option(CaptureNames names) {
  const bool many = names != CaptureNames::one;
  Option<CaptureInput> option;
  option.facts = {.name = "capture",
                  .value = "CAPTURE",
                  .group = OptionGroup::input,
                  .help = many ? "A video, or a numbered sequence such as moon_%04d.png; or several"
                               : "A video, or a numbered sequence such as moon_%04d.png",
                  .in_recipe = InRecipe::may_change,
                  .presence = presence_of(names)};
  option.set = [](CaptureInput& input, const std::string& text) {
    input.captures.push_back(file_name("capture", text));
  };
  option.get = [](const CaptureInput& input) { return names_json(input.captures); };
  option.clear = [](CaptureInput& input) { input.captures.clear(); };
  return option;
}

}  // namespace

std::vector<std::string> CaptureInput::files() const {
  std::vector<std::string> out = captures;
  out.insert(out.end(), {dark, flat, flat_dark});
  return out;
}

OptionTable<CaptureInput> capture_options(CaptureNames names) {
  using Group = OptionGroup;
  constexpr InRecipe kFixed = InRecipe::fixed;
  OptionTable<CaptureInput> table = {names_option(names)};
  append(table, options_of_part(&CaptureInput::part, part_options()));
  table.push_back(
      file_option<CaptureInput>({.name = "--dark",
                                 .value = "FILE",
                                 .group = Group::calibration,
                                 .help = "Dark to subtract: a capture, image, folder or master",
                                 .in_recipe = kFixed},
                                &CaptureInput::dark));
  table.push_back(
      file_option<CaptureInput>({.name = "--flat",
                                 .value = "FILE",
                                 .group = Group::calibration,
                                 .help = "Flat to divide by: a capture, image, folder or master",
                                 .in_recipe = kFixed},
                                &CaptureInput::flat));
  table.push_back(file_option<CaptureInput>({.name = "--flat-dark",
                                             .value = "FILE",
                                             .group = Group::calibration,
                                             .help = "Dark of the flat",
                                             .in_recipe = kFixed},
                                            &CaptureInput::flat_dark));
  table.push_back(word_option<CaptureInput>(
      {.name = "--metric",
       .value = "auto|gradient|laplacian|modified-laplacian|finest|fine|coarse",
       .group = Group::frames,
       .help = "Sharpness measure by which frames are ranked",
       .in_recipe = kFixed},
      &CaptureInput::metric, metric_words()));
  table.push_back(parsed_option<CaptureInput>(
      {.name = "--cfa",
       .value = "auto|none|RGGB|BGGR|GBRG|GRBG",
       .group = Group::reading,
       .help = "Colour filters of the frames as stored",
       .in_recipe = kFixed,
       .earlier = "auto"},
      &CaptureInput::cfa, parse_cfa,
      [](const std::optional<Cfa>& cfa) { return word_of_value(cfa, cfa_words()); }));
  table.push_back(word_option<CaptureInput>(
      {.name = "--byte-order",
       .value = "auto|little|big",
       .group = Group::reading,
       .help = "Byte order of raw 16-bit samples",
       .in_recipe = kFixed,
       .earlier = "auto"},
      &CaptureInput::byte_order,
      Words<ByteOrder>{
          {ByteOrder::automatic, "auto"}, {ByteOrder::little, "little"}, {ByteOrder::big, "big"}}));
  table.push_back(parsed_option<CaptureInput>(
      {.name = "--pixel-format",
       .value = "auto|NAME",
       .group = Group::reading,
       .help = "Pixel format of raw video whose file does not state it: FFmpeg's name, such as "
               "gray16le",
       .in_recipe = kFixed,
       .earlier = "auto"},
      &CaptureInput::pixel_format, parse_pixel_format, print_pixel_format));
  return table;
}

OptionTable<CaptureInput> pattern_options() {
  return {word_option<CaptureInput>(
      {.name = "--pattern-noise",
       .value = "auto|off",
       .group = OptionGroup::calibration,
       .help = "Pattern of rows and columns, without a dark: auto measures and subtracts it",
       .in_recipe = InRecipe::fixed,
       .earlier = "off"},
      &CaptureInput::pattern_noise,
      Words<PatternNoiseChoice>{{PatternNoiseChoice::automatic, "auto"},
                                {PatternNoiseChoice::off, "off"}})};
}

capture::OpenOptions open_options(const CaptureInput& input, int decoder_threads) {
  if (input.byte_order != ByteOrder::automatic && !input.pixel_format.empty()) {
    throw UsageError(fmt::format(
        "--byte-order and --pixel-format {}: a pixel format has its own byte order (gray16le is "
        "little, gray16be big); leave --byte-order out",
        input.pixel_format));
  }
  capture::OpenOptions open;
  open.decoder_threads = decoder_threads;
  open.cfa = input.cfa;
  open.byte_order = input.byte_order;
  open.pixel_format = input.pixel_format;
  return open;
}

}  // namespace lull::run
