#include "run/derotate_request.h"

#include <fmt/format.h>

#include "run/option_kinds.h"

namespace lull::run {

namespace {

std::optional<double> parse_north(const std::string& text) {
  return number_within("--north", text, {-360, 360, "degrees"});
}

std::string north_text(const std::optional<double>& north_deg) {
  return north_deg ? fmt::format("{}", *north_deg) : "";
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

Option<DerotateRequest> stacks_option() {
  Option<DerotateRequest> option;
  option.facts = {.name = "stack",
                  .value = "STACK",
                  .group = OptionGroup::input,
                  .help = "Linear stacks (.linear.fits) of one planet",
                  .presence = Presence::once_or_more};
  option.set = [](DerotateRequest& request, const std::string& text) {
    request.stacks.push_back(file_name("stack", text));
  };
  option.get = [](const DerotateRequest& request) { return nlohmann::json(request.stacks); };
  option.clear = [](DerotateRequest& request) { request.stacks.clear(); };
  return option;
}

OptionTable<DerotateRequest> make_derotate_options() {
  OptionTable<DerotateRequest> table = {stacks_option()};
  table.push_back(file_option<DerotateRequest>(
      {.name = "--output",
       .value = "FILE",
       .group = OptionGroup::results,
       .help = "The linear stack of one moment (.fits); without it the first stack's name with "
               "_derotated.linear.fits",
       .short_name = "-o"},
      &DerotateRequest::output));
  table.push_back(object_option(&DerotateRequest::object));
  table.push_back(parsed_option<DerotateRequest>(
      {.name = "--north",
       .value = "DEGREES",
       .group = OptionGroup::instrument,
       .help = "Where north is in the pictures: clockwise from the top"},
      &DerotateRequest::north_deg, parse_north, north_text));
  table.push_back(switch_option<DerotateRequest>(
      {.name = "--mirrored",
       .group = OptionGroup::instrument,
       .help = "The pictures are mirrored, as by a star diagonal: north up, east is right"},
      &DerotateRequest::mirrored, Mirrored::no, Mirrored::yes));
  table.push_back(parsed_option<DerotateRequest>(
      {.name = "--to",
       .value = "auto|UTC",
       .group = OptionGroup::registration,
       .help = "The moment: auto takes the middle, weighted by quality"},
      &DerotateRequest::moment, parse_moment, moment_text));
  return table;
}

}  // namespace

const OptionTable<DerotateRequest>& derotate_options() {
  static const OptionTable<DerotateRequest> table = make_derotate_options();
  return table;
}

}  // namespace lull::run
