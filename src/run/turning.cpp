#include "run/turning.h"

#include <fmt/format.h>

#include "core/error.h"
#include "run/option_kinds.h"

namespace lull::run {

namespace {

std::optional<double> parse_north(const std::string& text) {
  if (text == "none") return std::nullopt;
  return number_within("--north", text, {-360, 360, "degrees"});
}

std::string north_text(const std::optional<double>& north_deg) {
  return north_deg ? fmt::format("{}", *north_deg) : "none";
}

std::optional<Utc> parse_moment(const std::string& text) {
  if (text == "auto") return std::nullopt;
  const auto moment = parse_iso8601(text);
  if (!moment || text.find('T') == std::string::npos)
    throw invalid_value("--to", text, "auto, or a moment of UTC such as 2026-11-30T21:04:30");
  return moment;
}

std::string moment_text(const std::optional<Utc>& moment) {
  return moment ? iso8601(*moment) : "auto";
}

}  // namespace

OptionTable<Turning> turning_options(const std::vector<std::string>& needs) {
  OptionTable<Turning> table;
  table.push_back(parsed_option<Turning>(
      {.name = "--north",
       .value = "DEGREES",
       .group = OptionGroup::instrument,
       .help = "Where north is in the pictures, clockwise from the top; without it north is "
               "found by how detail moves",
       .in_recipe = InRecipe::fixed,
       .earlier = "none"},
      &Turning::north_deg, parse_north, north_text));
  table.push_back(switch_option<Turning>(
      {.name = "--mirrored",
       .group = OptionGroup::instrument,
       .help = "The pictures are mirrored, as by a star diagonal: north up, east is right",
       .in_recipe = InRecipe::fixed,
       .earlier = "false"},
      &Turning::mirrored, Mirrored::no, Mirrored::yes));
  table.push_back(
      parsed_option<Turning>({.name = "--to",
                              .value = "auto|UTC",
                              .group = OptionGroup::registration,
                              .help = "The moment: auto takes the middle, weighted by quality",
                              .in_recipe = InRecipe::fixed,
                              .earlier = "auto"},
                             &Turning::moment, parse_moment, moment_text));
  for (auto& option : table) option.facts.needs = needs;
  return table;
}

void require_north(const Turning& turning) {
  if (turning.north_deg) return;
  throw UsageError(
      "--north DEGREES is missing: where is north in the pictures, clockwise from the top? 0 is "
      "up. With the motor off the planet drifts towards west, and north is 90 degrees "
      "counter-clockwise of it, in a mirrored picture clockwise");
}

}  // namespace lull::run
