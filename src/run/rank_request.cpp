#include "run/rank_request.h"

#include <limits>

#include "run/option_kinds.h"

namespace lull::run {

namespace {

OptionTable<RankRequest> make_rank_options() {
  OptionTable<RankRequest> table =
      options_of_part(&RankRequest::input, capture_options(CaptureNames::one));
  append(table, options_of_part(&RankRequest::input, pattern_options()));
  table.push_back(file_option<RankRequest>({.name = "--csv",
                                            .value = "FILE",
                                            .group = OptionGroup::results,
                                            .help = "Write the table of frames"},
                                           &RankRequest::csv));
  table.push_back(file_option<RankRequest>(
      {.name = "--best-first",
       .value = "FILE",
       .group = OptionGroup::results,
       .help = "Write the frames in order of sharpness, as a lossless video (FFV1, .mkv)"},
      &RankRequest::best_first));
  table.push_back(parsed_option<RankRequest>(
      {.name = "--count",
       .value = "N",
       .group = OptionGroup::results,
       .help = "Write only the best N frames to this video",
       .needs = {"--best-first"}},
      &RankRequest::count,
      [](const std::string& text) {
        return whole_number_within("--count", text, 1, std::numeric_limits<int>::max());
      },
      [](std::int64_t count) { return count == 0 ? std::string("all") : std::to_string(count); }));
  return table;
}

}  // namespace

const OptionTable<RankRequest>& rank_options() {
  static const OptionTable<RankRequest> table = make_rank_options();
  return table;
}

}  // namespace lull::run
