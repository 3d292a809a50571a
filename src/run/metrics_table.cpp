#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "files/csv.h"
#include "files/name_text.h"
#include "run/metric_json.h"
#include "run/metrics_outcome.h"

namespace lull::run {

using quality::kMetrics;

std::string name_of(std::size_t measure) {
  return std::string(quality::metric_name(kMetrics[measure]));
}

std::size_t in_use(const CaptureMetrics& outcome) {
  return static_cast<std::size_t>(
      std::find(kMetrics.begin(), kMetrics.end(), outcome.survey.metric) - kMetrics.begin());
}

std::string figure(double value, int decimals) {
  if (!std::isfinite(value)) return "-";
  const double unit = std::pow(10.0, -decimals);
  return fmt::format("{:.{}f}", std::abs(value) < 0.5 * unit ? 0.0 : value, decimals);
}

std::string row_name(const CaptureMetrics& outcome, std::size_t measure) {
  const bool ranks = !outcome.survey.shares && measure == in_use(outcome);
  return name_of(measure) + (ranks ? " *" : "");
}

std::string own_row_name(const CaptureMetrics& outcome, std::size_t own) {
  return outcome.trials.own[own].name + (outcome.survey.shares && own == 0 ? " *" : "");
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

nlohmann::json measure_json(const quality::MeasureFigures& figures, const std::string& name) {
  nlohmann::json agreement;
  for (std::size_t other = 0; other < quality::kMeasures; ++other) {
    agreement[name_of(other)] = number(figures.agreement[other]);
  }
  nlohmann::json out = {{"measure", name},
                        {"reliability", number(figures.reliability)},
                        {"dimming_change", number(figures.dimming_change)},
                        {"speed_mpx_per_s", number(figures.speed_mpx_per_s)},
                        {"agreement", agreement}};
  if (figures.truth) {
    out["spearman_rho"] = number(figures.truth->rho);
    out["spearman_rho_95"] = {number(figures.truth->rho_interval.low),
                              number(figures.truth->rho_interval.high)};
    out["kendall_tau_b"] = number(figures.truth->tau);
    out["rho_noise_drop"] = number(figures.truth->rho_noise_drop);
    out["loss"] = loss_json(figures.truth->loss);
  }
  return out;
}

std::string csv_row(const CaptureMetrics& one, const std::string& name,
                    const quality::MeasureFigures& figures) {
  const auto plain = [](double value) {
    return std::isfinite(value) ? fmt::format("{:.6g}", value) : std::string();
  };
  std::vector<std::string> row = {one.capture, name};
  if (figures.truth) {
    const quality::AgainstTruth& truth = *figures.truth;
    for (const double value : {truth.rho, truth.rho_interval.low, truth.rho_interval.high,
                               truth.tau, truth.rho_noise_drop})
      row.push_back(plain(value));
    for (const double value : truth.loss) row.push_back(plain(value));
  }
  row.resize(7 + quality::kKeptShares.size());
  for (const double value : {figures.dimming_change, figures.reliability, figures.speed_mpx_per_s})
    row.push_back(plain(value));
  for (const double value : figures.agreement) row.push_back(plain(value));
  return files::csv_line(row);
}

nlohmann::json capture_json(const CaptureMetrics& one) {
  nlohmann::json measures = nlohmann::json::array();
  for (std::size_t m = 0; m < quality::kMeasures; ++m)
    measures.push_back(measure_json(one.figures.measures[m], name_of(m)));
  for (std::size_t i = 0; i < one.figures.own.size(); ++i)
    measures.push_back(measure_json(one.figures.own[i], one.trials.own[i].name));
  nlohmann::json out = {{"capture", files::name_text(one.capture)},
                        {"target", quality::target_name(one.survey.target.kind)},
                        {"frames", one.survey.records.size()},
                        {"usable", one.survey.usable()},
                        {"compared", one.trials.trials.size()},
                        {"measures", measures},
                        {"notes", one.notes}};
  add_metric(one.survey, out);
  if (!one.truth.empty()) {
    out["truth"] = {{"table", files::name_text(one.truth)},
                    {"column", one.truth_column},
                    {"loss_by_chance", loss_json(one.figures.by_chance)}};
  }
  return out;
}

}  // namespace

std::string metrics_csv(const MetricsOutcome& outcome) {
  std::vector<std::string> header = {"capture",
                                     "measure",
                                     "spearman_rho",
                                     "spearman_rho_low_95",
                                     "spearman_rho_high_95",
                                     "kendall_tau_b",
                                     "rho_noise_drop"};
  for (const double share : quality::kKeptShares)
    header.push_back(fmt::format("loss_at_{:.0f}_percent", 100 * share));
  header.insert(header.end(), {"dimming_change", "reliability", "speed_mpx_per_s"});
  for (std::size_t m = 0; m < quality::kMeasures; ++m) header.push_back("rho_with_" + name_of(m));
  std::string text = files::csv_line(header);
  for (const CaptureMetrics& one : outcome.captures) {
    for (std::size_t m = 0; m < quality::kMeasures; ++m)
      text += csv_row(one, name_of(m), one.figures.measures[m]);
    for (std::size_t i = 0; i < one.figures.own.size(); ++i)
      text += csv_row(one, one.trials.own[i].name, one.figures.own[i]);
  }
  return text;
}

nlohmann::json to_json(const MetricsOutcome& outcome) {
  if (outcome.captures.size() == 1) return capture_json(outcome.captures.front());
  nlohmann::json captures = nlohmann::json::array();
  for (const CaptureMetrics& one : outcome.captures) captures.push_back(capture_json(one));
  return {{"captures", captures}};
}

}  // namespace lull::run
