#include "run/plan_request.h"

#include <fmt/format.h>

#include "run/option_kinds.h"
#include "run/site_options.h"

namespace lull::run {

namespace {

// An option that may be given several times.
template <class Value, class Parse, class Print>
Option<PlanRequest> list_option(OptionFacts facts, std::vector<Value> PlanRequest::*member,
                                Parse parse, Print print) {
  facts.presence = Presence::any_number;
  return {std::move(facts),
          [=](PlanRequest& request, const std::string& text) {
            (request.*member).push_back(parse(text));
          },
          [=](const PlanRequest& request) {
            nlohmann::json texts = nlohmann::json::array();
            for (const Value& value : request.*member) texts.push_back(print(value));
            return texts;
          },
          [=](PlanRequest& request) { (request.*member).clear(); }};
}

void append_what(OptionTable<PlanRequest>& table) {
  table.push_back(text_option<PlanRequest>(
      {.name = "target",
       .value = "TARGET",
       .group = OptionGroup::input,
       .help = "sun, moon, mercury, venus, mars, jupiter, saturn, uranus or neptune"},
      &PlanRequest::target));
  table.push_back(switch_option<PlanRequest>(
      {.name = "--tonight", .group = OptionGroup::input, .help = "List all of them"},
      &PlanRequest::targets, PlannedTargets::one, PlannedTargets::all));
  table.push_back(site_option(&PlanRequest::site,
                              "Where you stand: degrees, north and east positive, and metres"));
  table.push_back(parsed_option<PlanRequest>(
      {.name = "--date",
       .value = "YYYY-MM-DD",
       .group = OptionGroup::input,
       .help = "The evening on which the night begins, for the Sun the day; by default now"},
      &PlanRequest::date, parse_date, [](const std::string& date) { return date; }));
  table.push_back(
      zone_option(&PlanRequest::zone, "Show local times too: Europe/Lisbon, or +01:00"));
}

void append_panels(OptionTable<PlanRequest>& table) {
  const std::vector<std::string> needs = {"--panels"};
  table.push_back(switch_option<PlanRequest>(
      {.name = "--panels",
       .group = OptionGroup::frames,
       .help = "How many frames cover the lit part of the Moon or the Sun, and in which order"},
      &PlanRequest::panels, PanelChoice::no, PanelChoice::yes));
  table.push_back(number_option<PlanRequest>(
      {.name = "--overlap",
       .value = "PERCENT",
       .group = OptionGroup::frames,
       .help = "How much of its side a frame shares with the next; 25 by default",
       .needs = needs},
      &PlanRequest::overlap_percent, {0, 80, "%"}));
  table.push_back(number_option<PlanRequest>(
      {.name = "--north",
       .value = "DEGREES",
       .group = OptionGroup::frames,
       .help = "Where north is in the pictures: clockwise from the top; 0 by default",
       .needs = needs},
      &PlanRequest::north_deg, {-360, 360, "degrees"}));
  table.push_back(parsed_option<PlanRequest>(
      {.name = "--sensor",
       .value = "WIDTHxHEIGHT",
       .group = OptionGroup::frames,
       .help = "Pixels of the camera, or of the part of it that is read"},
      &PlanRequest::sensor, parse_sensor, sensor_option_text));
}

OptionTable<PlanRequest> make_plan_options() {
  OptionTable<PlanRequest> table;
  append_what(table);
  append(table, options_of_part(&PlanRequest::instrument, instrument_options()));
  table.push_back(list_option({.name = "--band",
                               .value = "NAME:FROM-TO",
                               .group = OptionGroup::instrument,
                               .help = "A filter and its edges, nm; can be repeated"},
                              &PlanRequest::bands, parse_band, band_option_text));
  table.push_back(list_option(
      {.name = "--storm",
       .value = "TARGET:NAME:SYSTEM:LONGITUDE",
       .group = OptionGroup::instrument,
       .help = "Detail to wait for, with its system (1 to 3) and longitude, and if it drifts with "
               ":DATE:DEGREES-A-DAY; can be repeated"},
      &PlanRequest::storms, parse_storm, storm_option_text));
  table.push_back(number_option<PlanRequest>(
      {.name = "--signal",
       .value = "NUMBER",
       .group = OptionGroup::instrument,
       .help = "Wanted signal over noise of a pixel in the stack; 200 by default"},
      &PlanRequest::signal_to_noise, {1, 1e5, ""}));
  append_panels(table);
  table.push_back(
      file_option<PlanRequest>({.name = "--plot",
                                .value = "FILE",
                                .group = OptionGroup::results,
                                .help = "Draw altitudes, longitudes, dispersion and panels as SVG"},
                               &PlanRequest::plot));
  return table;
}

}  // namespace

const OptionTable<PlanRequest>& plan_options() {
  static const OptionTable<PlanRequest> table = make_plan_options();
  return table;
}

std::vector<sky::Body> planned_bodies(const PlanRequest& request) {
  const bool all = request.targets == PlannedTargets::all;
  if (all == !request.target.empty()) {
    throw UsageError(all ? "--tonight lists every target: leave '" + request.target + "' out"
                         : "name a target, such as jupiter, or give --tonight");
  }
  if (all && request.panels == PanelChoice::yes)
    throw UsageError("--panels is for one target, moon or sun: name it, and leave --tonight out");
  if (all) return {sky::kBodies.begin(), sky::kBodies.end()};
  return {body_of_word("target", request.target)};
}

}  // namespace lull::run
