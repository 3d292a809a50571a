#pragma once

#include <nlohmann/json.hpp>

#include "run/option.h"

namespace lull::desk {

/// All that a form needs of one option. @param standard  its value where it is not given.
[[nodiscard]] nlohmann::json option_json(const run::OptionFacts& facts,
                                         const nlohmann::json& standard);

/// The options of a verb. @param standard  with their values where they are not given.
template <class Request>
[[nodiscard]] nlohmann::json options_json(const run::OptionTable<Request>& table,
                                          const Request& standard) {
  nlohmann::json out = nlohmann::json::array();
  for (const auto& option : table) out.push_back(option_json(option.facts, option.get(standard)));
  return out;
}

}  // namespace lull::desk
