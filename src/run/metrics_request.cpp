#include "run/metrics_request.h"

#include "run/option_kinds.h"

namespace lull::run {

namespace {

OptionTable<MetricsRequest> make_metrics_options() {
  OptionTable<MetricsRequest> table =
      options_of_part(&MetricsRequest::input, capture_options(CaptureName::required));
  append(table, options_of_part(&MetricsRequest::input, pattern_options()));
  table.push_back(file_option<MetricsRequest>(
      {.name = "--truth",
       .value = "FILE",
       .group = OptionGroup::input,
       .help = "True Strehl ratios: NAME.frames.csv, or the NAME.truth.fits beside it"},
      &MetricsRequest::truth));
  table.push_back(file_option<MetricsRequest>({.name = "--csv",
                                               .value = "FILE",
                                               .group = OptionGroup::results,
                                               .help = "Write the table of measures"},
                                              &MetricsRequest::csv));
  table.push_back(file_option<MetricsRequest>(
      {.name = "--plot",
       .value = "FILE",
       .group = OptionGroup::results,
       .help = "Draw it as SVG: loss and ranking; without truth, agreement and reliability"},
      &MetricsRequest::plot));
  return table;
}

}  // namespace

const OptionTable<MetricsRequest>& metrics_options() {
  static const OptionTable<MetricsRequest> table = make_metrics_options();
  return table;
}

}  // namespace lull::run
