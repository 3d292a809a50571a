#include "run/look_geometry.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

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

const Words<Turn>& flips() {
  static const Words<Turn> words = {
      {Turn::none, "none"}, {Turn::left_right, "left-right"}, {Turn::up_down, "top-bottom"}};
  return words;
}

OptionTable<finish::Pose> make_pose_options() {
  return {word_option<finish::Pose>({.name = "--flip",
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
}

}  // namespace

finish::ChannelOffsets parse_channel_offsets(const std::string& text) {
  const auto numbers = numbers_in<4>(text);
  const auto is_near = [](double px) { return std::abs(px) <= kMostOffset_px; };
  if (numbers && std::all_of(numbers->begin(), numbers->end(), is_near)) {
    const auto& [red_x, red_y, blue_x, blue_y] = *numbers;
    return {{red_x, red_y}, {blue_x, blue_y}};
  }
  throw invalid_value("--channel-offsets", text,
                      fmt::format("px from -{0} to {0} to the right and down for red, then for "
                                  "blue, such as 0.3,-0.5,-0.2,0.4",
                                  kMostOffset_px));
}

std::string print_channel_offsets(const finish::ChannelOffsets& offsets) {
  return fmt::format("{}", fmt::join(numbers_of(offsets), ","));
}

const OptionTable<finish::Pose>& pose_options() {
  static const OptionTable<finish::Pose> table = make_pose_options();
  return table;
}

}  // namespace lull::run
