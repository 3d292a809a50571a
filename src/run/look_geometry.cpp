#include "run/look_geometry.h"

#include <fmt/format.h>

#include <array>
#include <charconv>
#include <cmath>
#include <optional>

#include "core/choices.h"
#include "run/option_kinds.h"

namespace lull::run {

namespace {

constexpr double kMostOffset_px = 50;
constexpr double kMostRotation_deg = 360;

using finish::ChannelOffsets;

// Red to the right and down, blue likewise.
std::array<double, 4> numbers_of(const ChannelOffsets& offsets) {
  return {offsets.red.x_px, offsets.red.y_px, offsets.blue.x_px, offsets.blue.y_px};
}

std::optional<ChannelOffsets> read_offsets(const std::string& text) {
  std::array<double, 4> numbers{};
  const char* at = text.data();
  const char* end = at + text.size();
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    if (i > 0 && (at == end || *at++ != ',')) return std::nullopt;
    const auto [stop, error] = std::from_chars(at, end, numbers[i]);
    if (error != std::errc() || !(std::abs(numbers[i]) <= kMostOffset_px)) return std::nullopt;
    at = stop;
  }
  if (at != end) return std::nullopt;
  return ChannelOffsets{{numbers[0], numbers[1]}, {numbers[2], numbers[3]}};
}

ChannelOffsets parse_offsets(const std::string& text) {
  if (const auto offsets = read_offsets(text)) return *offsets;
  throw invalid_value("--channel-offsets", text,
                      fmt::format("px from -{0} to {0} to the right and down for red, then for "
                                  "blue, such as 0.3,-0.5,-0.2,0.4",
                                  kMostOffset_px));
}

std::string print_offsets(const ChannelOffsets& offsets) {
  return fmt::format("{}", fmt::join(numbers_of(offsets), ","));
}

const Words<Turn>& flips() {
  static const Words<Turn> words = {
      {Turn::none, "none"}, {Turn::left_right, "left-right"}, {Turn::up_down, "top-bottom"}};
  return words;
}

}  // namespace

Option<Look> channel_offsets_option() {
  return parsed_option<Look>(
      {.name = "--channel-offsets",
       .value = "RX,RY,BX,BY",
       .group = OptionGroup::colour,
       .help = "Move red and blue by these px to the right and down, against fringes that are left",
       .in_recipe = InRecipe::fixed,
       .earlier = "0,0,0,0",
       .card = "CHANOFF",
       .card_comment = "[px] red x, y, blue x, y moved by hand"},
      &Look::channel_offsets, parse_offsets, print_offsets);
}

OptionTable<Look> orientation_options() {
  const OptionTable<finish::Pose> options = {
      word_option<finish::Pose>({.name = "--flip",
                                 .value = "none|left-right|top-bottom",
                                 .group = OptionGroup::orientation,
                                 .help = "Mirror the picture, before it is turned",
                                 .in_recipe = InRecipe::fixed,
                                 .earlier = "none",
                                 .card = "FLIP",
                                 .card_comment = "mirrored, before it was turned"},
                                &finish::Pose::flip, flips()),
      number_option<finish::Pose>(
          {.name = "--rotate",
           .value = "DEGREES",
           .group = OptionGroup::orientation,
           .help = "Turn the picture clockwise; by 90, 180 and 270 without loss",
           .in_recipe = InRecipe::fixed,
           .earlier = "0",
           .card = "ROTATED",
           .card_comment = "[deg] turned clockwise"},
          &finish::Pose::rotation_deg, {-kMostRotation_deg, kMostRotation_deg, "degrees"})};
  return options_of_part(&Look::pose, options);
}

}  // namespace lull::run
