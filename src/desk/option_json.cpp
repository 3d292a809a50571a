#include "desk/option_json.h"

#include <algorithm>
#include <cctype>
#include <sstream>

namespace lull::desk {

namespace {

using nlohmann::json;
using run::OptionGroup;
using run::OptionKind;
using run::Presence;

// For programs; the heading is for people.
std::string group_word(OptionGroup group) {
  switch (group) {
    case OptionGroup::input:
      return "input";
    case OptionGroup::reading:
      return "reading";
    case OptionGroup::calibration:
      return "calibration";
    case OptionGroup::frames:
      return "frames";
    case OptionGroup::registration:
      return "registration";
    case OptionGroup::detail:
      return "detail";
    case OptionGroup::colour:
      return "colour";
    case OptionGroup::tone:
      return "tone";
    case OptionGroup::orientation:
      return "orientation";
    case OptionGroup::instrument:
      return "instrument";
    case OptionGroup::results:
      return "results";
    case OptionGroup::machine:
      return "machine";
  }
  return {};
}

std::string kind_word(OptionKind kind) {
  switch (kind) {
    case OptionKind::text:
      return "text";
    case OptionKind::choice:
      return "choice";
    case OptionKind::number:
      return "number";
    case OptionKind::file:
      return "file";
    case OptionKind::on_off:
      return "switch";
  }
  return {};
}

std::string presence_word(Presence presence) {
  switch (presence) {
    case Presence::optional:
      return "optional";
    case Presence::once:
      return "once";
    case Presence::once_or_more:
      return "once_or_more";
    case Presence::any_number:
      return "any_number";
  }
  return {};
}

// Words that a free text may also be: "auto" of "auto|15%|300".
std::vector<std::string> words_in(const std::string& value) {
  std::vector<std::string> out;
  std::istringstream parts(value);
  for (std::string part; std::getline(parts, part, '|');) {
    const bool is_word = std::all_of(
        part.begin(), part.end(), [](unsigned char c) { return std::islower(c) != 0 || c == '-'; });
    if (is_word && !part.empty()) out.push_back(part);
  }
  return out;
}

}  // namespace

json option_json(const run::OptionFacts& facts, const json& standard) {
  const bool is_number = facts.kind == OptionKind::number;
  return {{"name", facts.name},
          {"group", group_word(facts.group)},
          {"heading", run::group_name(facts.group)},
          {"value", facts.value},
          {"help", facts.help},
          {"default", standard},
          {"kind", kind_word(facts.kind)},
          {"choices", facts.kind == OptionKind::text ? words_in(facts.value) : facts.choices},
          {"low", is_number ? json(facts.bounds.low) : json()},
          {"high", is_number ? json(facts.bounds.high) : json()},
          {"unit", facts.bounds.unit},
          {"needs", facts.needs},
          {"presence", presence_word(facts.presence)},
          {"in_recipe", facts.in_recipe != run::InRecipe::no}};
}

}  // namespace lull::desk
