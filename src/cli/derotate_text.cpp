#include <fmt/format.h>

#include <cmath>

#include "cli/texts.h"

namespace lull::cli {

std::string derotate_text(const run::DerotateOutcome& outcome) {
  std::string text =
      fmt::format("{} at {} UTC, longitude of the middle {:.1f}\n", sky::body_title(outcome.body),
                  iso8601(outcome.moment, 0), outcome.central_meridian_deg);
  text += fmt::format(
      "times are taken as UTC: a clock that is an hour off moves longitudes by {:.1f} degrees\n",
      std::abs(outcome.turn_deg_per_hour));
  if (outcome.north_found)
    text += fmt::format("north is {:.1f} degrees clockwise from the top, by how detail moves{}\n",
                        outcome.north_deg, outcome.mirrored ? "; the pictures are mirrored" : "");
  for (const std::string& note : outcome.notes) text += fmt::format("note: {}\n", note);
  for (const run::DerotatedStack& stack : outcome.stacks) {
    text += fmt::format("{}: {}, turned {:+.1f} degrees, weight {:.0f}%\n", stack.path,
                        iso8601(stack.moment, 0).substr(11), stack.turned_deg, 100 * stack.weight);
    text += fmt::format("  limb: centre {:.2f}, {:.2f} px, radius {:.2f} px\n", stack.x_px,
                        stack.y_px, stack.radius_px);
    if (stack.turned_about) text += "  turned by 180 degrees against the earliest stack\n";
  }
  if (outcome.resolution) text += fmt::format("resolution: {:.2f} px\n", 1 / *outcome.resolution);
  if (outcome.map)
    text += fmt::format("map: {} x {} px, {:.4g} pixels a degree, {:.0f}% of it was seen\n",
                        outcome.map->width_px, outcome.map->height_px,
                        outcome.map->pixels_per_degree, 100 * outcome.map->seen_share);
  for (const std::string& path : outcome.written) text += fmt::format("wrote {}\n", path);
  return text;
}

}  // namespace lull::cli
