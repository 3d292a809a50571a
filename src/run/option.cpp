#include "run/option.h"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "core/choices.h"
#include "core/error.h"

namespace lull::run {

std::string group_name(OptionGroup group) {
  switch (group) {
    case OptionGroup::input:
      return "Input";
    case OptionGroup::reading:
      return "How the capture is read";
    case OptionGroup::calibration:
      return "Calibration";
    case OptionGroup::frames:
      return "Frames and ranking";
    case OptionGroup::registration:
      return "Registration and stacking";
    case OptionGroup::detail:
      return "Detail";
    case OptionGroup::colour:
      return "Colour";
    case OptionGroup::tone:
      return "Brightness";
    case OptionGroup::orientation:
      return "Orientation";
    case OptionGroup::instrument:
      return "Object and instrument";
    case OptionGroup::results:
      return "Results";
    case OptionGroup::machine:
      return "Machine and output";
  }
  throw std::logic_error("no such group of options");
}

std::string OptionFacts::recipe_key() const {
  std::string key = name.substr(std::min(name.find_first_not_of('-'), name.size()));
  std::replace(key.begin(), key.end(), '-', '_');
  return key;
}

std::vector<std::string> option_texts(const nlohmann::json& value) {
  if (!value.is_array()) return {option_text(value)};
  std::vector<std::string> texts;
  for (const nlohmann::json& one : value) texts.push_back(option_text(one));
  return texts;
}

std::string option_text(const nlohmann::json& value) {
  if (value.is_string()) return value.get<std::string>();
  if (value.is_number_float()) return fmt::format("{}", value.get<double>());
  return value.dump();
}

files::Card card_with(const OptionFacts& facts, const nlohmann::json& value) {
  if (value.is_boolean()) return {facts.card, value.get<bool>(), facts.card_comment};
  if (value.is_number()) return {facts.card, value.get<double>(), facts.card_comment};
  return {facts.card, option_text(value), facts.card_comment};
}

void require_needs(const OptionFacts& facts, const std::vector<std::string>& missing) {
  if (missing.empty()) return;
  std::string all;
  for (std::size_t i = 0; i < missing.size(); ++i) {
    if (i > 0) all += i + 1 < missing.size() ? ", " : " and ";
    all += missing[i];
  }
  throw UsageError(fmt::format("{} also needs {}", facts.name, all));
}

void require_given(const std::vector<OptionFacts>& missing) {
  if (missing.empty()) return;
  std::vector<std::string> words;
  words.reserve(missing.size());
  for (const OptionFacts& facts : missing) {
    words.push_back(fmt::format(
        "{} ({})", facts.by_place() ? facts.value : facts.name + " " + facts.value, facts.help));
  }
  throw UsageError(
      fmt::format("{} {} missing", fmt::join(words, " and "), missing.size() == 1 ? "is" : "are"));
}

}  // namespace lull::run
