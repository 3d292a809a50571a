#include "app/metrics_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "app/verdict.h"
#include "files/csv.h"

namespace lull::app {

using quality::kMetrics;

std::string name_of(std::size_t measure) {
  return std::string(quality::metric_name(kMetrics[measure]));
}

std::size_t in_use(const MetricsReport& report) {
  return static_cast<std::size_t>(
      std::find(kMetrics.begin(), kMetrics.end(), report.survey.metric) - kMetrics.begin());
}

std::string figure(double value, int decimals) {
  if (!std::isfinite(value)) return "-";
  const double unit = std::pow(10.0, -decimals);
  return fmt::format("{:.{}f}", std::abs(value) < 0.5 * unit ? 0.0 : value, decimals);
}

std::string row_name(const MetricsReport& report, std::size_t measure) {
  return name_of(measure) + (measure == in_use(report) ? " *" : "");
}

namespace {

template <class Losses>
std::string loss_fields(const Losses& losses) {
  std::string text;
  for (const double loss : losses) text += fmt::format(" {:>6}", figure(100 * loss, 1));
  return text;
}

std::string truth_table(const MetricsReport& report) {
  std::string text = fmt::format("\nagainst the true Strehl ratio ({}, {}) of {} frames\n",
                                 report.truth, report.truth_column, report.trials.truth.size());
  text += fmt::format("{:<20} {:>6} {:>6} {:>6}", "measure", "rho", "tau", "noise");
  for (const double share : kKeptShares)
    text += fmt::format(" {:>6}", fmt::format("{:.0f}%", 100 * share));
  text += " kept\n";
  for (std::size_t m = 0; m < kMeasures; ++m) {
    const AgainstTruth& truth = *report.figures.measures[m].truth;
    text += fmt::format("{:<20} {:>6} {:>6} {:>6}{}\n", row_name(report, m), figure(truth.rho, 3),
                        figure(truth.tau, 3), figure(-truth.rho_noise_drop, 3),
                        loss_fields(truth.loss));
  }
  text += fmt::format("{:<20} {:>6} {:>6} {:>6}{}\n", "by chance", "", "", "",
                      loss_fields(report.figures.by_chance));
  return text +
         "  rho Spearman, tau Kendall (tau-b); noise: change of rho when as much noise again as\n"
         "  measured is added; under a part of the frames: by how many % the mean Strehl ratio of\n"
         "  the frames kept falls short of the best that as many frames can have\n";
}

std::string agreement_table(const MetricsReport& report) {
  std::string text = fmt::format("\namong themselves, on {} frames\n{:<20}",
                                 report.trials.trials.size(), "measure");
  text += fmt::format(" {:>11} {:>6} {:>7}  rho with\n", "reliability", "dimmed", "Mpx/s");
  for (std::size_t m = 0; m < kMeasures; ++m) {
    const MeasureFigures& figures = report.figures.measures[m];
    text += fmt::format("{:<20} {:>11} {:>6} {:>7} ", row_name(report, m),
                        figure(figures.reliability, 3), figure(100 * figures.dimming_change, 2),
                        figure(figures.speed_mpx_per_s, 0));
    for (std::size_t other = 0; other < m; ++other) {
      text += fmt::format(" {} {}", name_of(other), figure(figures.agreement[other], 3));
    }
    text += "\n";
  }
  return text +
         "  reliability: how well the score repeats itself, 0 to 1, from two halves of each frame\n"
         "  with twice the noise variance; a measure that follows the noise has little. dimmed:\n"
         "  change of the score, %, when the frames are dimmed by 20%. Mpx/s: one thread, in\n"
         "  memory. * the measure in use\n";
}

nlohmann::json number(double value) {
  return std::isfinite(value) ? nlohmann::json(value) : nlohmann::json(nullptr);
}

template <class Losses>
nlohmann::json loss_json(const Losses& losses) {
  nlohmann::json out = nlohmann::json::array();
  for (std::size_t i = 0; i < kKeptShares.size(); ++i) {
    out.push_back({{"kept", kKeptShares[i]}, {"loss", number(losses[i])}});
  }
  return out;
}

nlohmann::json measure_json(const MeasureFigures& figures, std::size_t measure) {
  nlohmann::json agreement;
  for (std::size_t other = 0; other < kMeasures; ++other) {
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

std::string metrics_text(const MetricsReport& report) {
  std::string text = fmt::format("{}: {} frames of {} x {} px, {} usable\n", report.capture,
                                 report.survey.records.size(), report.size.width_px,
                                 report.size.height_px, report.survey.usable());
  const std::string reasons = left_out(report.survey);
  if (!reasons.empty()) text += fmt::format("  left out: {}\n", reasons);
  text += fmt::format("target: {}; sharpness measure in use: {}\n",
                      quality::target_name(report.survey.target.kind),
                      quality::metric_name(report.survey.metric));
  for (const std::string& note : report.notes) text += fmt::format("note: {}\n", note);
  if (!report.truth.empty()) text += truth_table(report);
  return text + agreement_table(report);
}

std::string metrics_csv(const MetricsReport& report) {
  const auto plain = [](double value) {
    return std::isfinite(value) ? fmt::format("{:.6g}", value) : std::string();
  };
  std::vector<std::string> header = {"measure", "spearman_rho", "kendall_tau_b", "rho_noise_drop"};
  for (const double share : kKeptShares)
    header.push_back(fmt::format("loss_at_{:.0f}_percent", 100 * share));
  header.insert(header.end(), {"dimming_change", "reliability", "speed_mpx_per_s"});
  for (std::size_t m = 0; m < kMeasures; ++m) header.push_back("rho_with_" + name_of(m));
  std::string text = files::csv_line(header);
  for (std::size_t m = 0; m < kMeasures; ++m) {
    const MeasureFigures& figures = report.figures.measures[m];
    std::vector<std::string> row = {name_of(m)};
    if (figures.truth) {
      for (const double value :
           {figures.truth->rho, figures.truth->tau, figures.truth->rho_noise_drop})
        row.push_back(plain(value));
      for (const double value : figures.truth->loss) row.push_back(plain(value));
    }
    row.resize(4 + kKeptShares.size());
    for (const double value :
         {figures.dimming_change, figures.reliability, figures.speed_mpx_per_s})
      row.push_back(plain(value));
    for (const double value : figures.agreement) row.push_back(plain(value));
    text += files::csv_line(row);
  }
  return text;
}

nlohmann::json metrics_json(const MetricsReport& report) {
  nlohmann::json measures = nlohmann::json::array();
  for (std::size_t m = 0; m < kMeasures; ++m) {
    measures.push_back(measure_json(report.figures.measures[m], m));
  }
  nlohmann::json out = {{"capture", report.capture},
                        {"metric", quality::metric_name(report.survey.metric)},
                        {"target", quality::target_name(report.survey.target.kind)},
                        {"frames", report.survey.records.size()},
                        {"usable", report.survey.usable()},
                        {"compared", report.trials.trials.size()},
                        {"measures", measures},
                        {"notes", report.notes}};
  if (!report.truth.empty()) {
    out["truth"] = {{"table", report.truth},
                    {"column", report.truth_column},
                    {"loss_by_chance", loss_json(report.figures.by_chance)}};
  }
  return out;
}

}  // namespace lull::app
