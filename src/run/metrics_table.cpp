#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "files/csv.h"
#include "run/metrics_outcome.h"

namespace lull::run {

using quality::kMetrics;

std::string name_of(std::size_t measure) {
  return std::string(quality::metric_name(kMetrics[measure]));
}

std::size_t in_use(const MetricsOutcome& outcome) {
  return static_cast<std::size_t>(
      std::find(kMetrics.begin(), kMetrics.end(), outcome.survey.metric) - kMetrics.begin());
}

std::string figure(double value, int decimals) {
  if (!std::isfinite(value)) return "-";
  const double unit = std::pow(10.0, -decimals);
  return fmt::format("{:.{}f}", std::abs(value) < 0.5 * unit ? 0.0 : value, decimals);
}

std::string row_name(const MetricsOutcome& outcome, std::size_t measure) {
  return name_of(measure) + (measure == in_use(outcome) ? " *" : "");
}

namespace {

nlohmann::json number(double value) {
  return std::isfinite(value) ? nlohmann::json(value) : nlohmann::json(nullptr);
}

template <class Losses>
nlohmann::json loss_json(const Losses& losses) {
  nlohmann::json out = nlohmann::json::array();
  for (std::size_t i = 0; i < quality::kKeptShares.size(); ++i) {
    out.push_back({{"kept", quality::kKeptShares[i]}, {"loss", number(losses[i])}});
  }
  return out;
}

nlohmann::json measure_json(const quality::MeasureFigures& figures, std::size_t measure) {
  nlohmann::json agreement;
  for (std::size_t other = 0; other < quality::kMeasures; ++other) {
    agreement[name_of(other)] = number(figures.agreement[other]);
  }
  nlohmann::json out = {{"measure", name_of(measure)},
                        {"reliability", number(figures.reliability)},
                        {"dimming_change", number(figures.dimming_change)},
                        {"speed_mpx_per_s", number(figures.speed_mpx_per_s)},
                        {"agreement", agreement}};
  if (figures.truth) {
    out["spearman_rho"] = number(figures.truth->rho);
    out["kendall_tau_b"] = number(figures.truth->tau);
    out["rho_noise_drop"] = number(figures.truth->rho_noise_drop);
    out["loss"] = loss_json(figures.truth->loss);
  }
  return out;
}

}  // namespace

std::string metrics_csv(const MetricsOutcome& outcome) {
  const auto plain = [](double value) {
    return std::isfinite(value) ? fmt::format("{:.6g}", value) : std::string();
  };
  std::vector<std::string> header = {"measure", "spearman_rho", "kendall_tau_b", "rho_noise_drop"};
  for (const double share : quality::kKeptShares)
    header.push_back(fmt::format("loss_at_{:.0f}_percent", 100 * share));
  header.insert(header.end(), {"dimming_change", "reliability", "speed_mpx_per_s"});
  for (std::size_t m = 0; m < quality::kMeasures; ++m) header.push_back("rho_with_" + name_of(m));
  std::string text = files::csv_line(header);
  for (std::size_t m = 0; m < quality::kMeasures; ++m) {
    const quality::MeasureFigures& figures = outcome.figures.measures[m];
    std::vector<std::string> row = {name_of(m)};
    if (figures.truth) {
      for (const double value :
           {figures.truth->rho, figures.truth->tau, figures.truth->rho_noise_drop})
        row.push_back(plain(value));
      for (const double value : figures.truth->loss) row.push_back(plain(value));
    }
    row.resize(4 + quality::kKeptShares.size());
    for (const double value :
         {figures.dimming_change, figures.reliability, figures.speed_mpx_per_s})
      row.push_back(plain(value));
    for (const double value : figures.agreement) row.push_back(plain(value));
    text += files::csv_line(row);
  }
  return text;
}

nlohmann::json to_json(const MetricsOutcome& outcome) {
  nlohmann::json measures = nlohmann::json::array();
  for (std::size_t m = 0; m < quality::kMeasures; ++m) {
    measures.push_back(measure_json(outcome.figures.measures[m], m));
  }
  nlohmann::json out = {{"capture", outcome.capture},
                        {"metric", quality::metric_name(outcome.survey.metric)},
                        {"target", quality::target_name(outcome.survey.target.kind)},
                        {"frames", outcome.survey.records.size()},
                        {"usable", outcome.survey.usable()},
                        {"compared", outcome.trials.trials.size()},
                        {"measures", measures},
                        {"notes", outcome.notes}};
  if (!outcome.truth.empty()) {
    out["truth"] = {{"table", outcome.truth},
                    {"column", outcome.truth_column},
                    {"loss_by_chance", loss_json(outcome.figures.by_chance)}};
  }
  return out;
}

}  // namespace lull::run
