#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

#include "night/plan.h"
#include "night/record.h"

namespace lull::night {

/// A night as its page and tables show it.
struct Summary {
  std::vector<Record> records;  ///< in the order of time, then by name
  std::vector<LeftOut> left_out;
  std::vector<Set> sets;
};

/// Sorts the records by time. What was skipped is left out, with its reason.
[[nodiscard]] Summary summary_of(std::vector<Record> records, std::vector<LeftOut> left_out,
                                 std::vector<Set> sets);

/// The table, RFC 4180, one picture a record.
[[nodiscard]] std::string night_csv(const Summary& summary);

[[nodiscard]] nlohmann::json night_json(const Summary& summary);

/// What to change next time, over all: each advice once, with the pictures that it is for.
struct Advice {
  health::Finding finding;
  std::vector<std::string> pictures;
};

/// The most frequent first.
[[nodiscard]] std::vector<Advice> advice_of(const Summary& summary);

}  // namespace lull::night
