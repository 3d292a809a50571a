#include "desk/option_values.h"

#include <fmt/format.h>

namespace lull::desk {

std::vector<std::string> texts_of_option(const std::string& name, const nlohmann::json& value,
                                         const run::OptionFacts& facts) {
  const auto is_plain = [](const nlohmann::json& one) {
    return one.is_string() || one.is_number() || one.is_boolean();
  };
  const bool is_list = value.is_array() && facts.takes_many() && !value.empty() &&
                       std::all_of(value.begin(), value.end(), is_plain);
  if (!is_plain(value) && !is_list) {
    throw Problem(400, name + ": this is no value of an option",
                  facts.takes_many() ? "give a text, or a list of texts"
                                     : "give a text, a number, true or false");
  }
  return run::option_texts(value);
}

void check_option_names(const nlohmann::json& options, const std::vector<std::string>& known) {
  if (!options.is_object())
    throw Problem(400, "options: this is no JSON object", "give {\"--keep\": \"15%\"} or {}");
  for (const auto& [name, value] : options.items()) {
    if (std::find(known.begin(), known.end(), name) != known.end()) continue;
    throw Problem(400, fmt::format("no option {} here", name),
                  did_you_mean(name, known) + " GET /api/options lists them");
  }
}

}  // namespace lull::desk
