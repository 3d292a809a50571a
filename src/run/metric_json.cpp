#include "run/metric_json.h"

#include <nlohmann/json.hpp>

namespace lull::run {

void add_metric(const survey::Survey& survey, nlohmann::json& out) {
  if (!survey.shares) {
    out["metric"] = quality::metric_name(survey.metric);
    return;
  }
  out["metric"] = quality::kTogether;
  for (std::size_t i = 0; i < survey.shares->size(); ++i) {
    out["metric_shares"][std::string(quality::metric_name(quality::kCombined[i]))] =
        (*survey.shares)[i];
  }
}

}  // namespace lull::run
