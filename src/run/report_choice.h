#pragma once

#include <string>

#include "run/option_kinds.h"

namespace lull::run {

/// Where the report is written: beside the picture, nowhere, or to a named file.
struct ReportChoice {
  enum class Where { beside, nowhere, file } where = Where::beside;
  std::string file{};  ///< for Where::file

  /// The page's file, empty = none. @param picture  the run's first result.
  /// @param ending  of a page beside it.
  [[nodiscard]] std::string path_beside(const std::string& picture,
                                        const char* ending = ".html") const;
};

/// "auto", "none", or a name that ends in .html. @throws UsageError
[[nodiscard]] ReportChoice parse_report(const std::string& text);

/// The way parse_report() reads it back.
[[nodiscard]] std::string print_report(const ReportChoice& report);

/// --report, as an option of a request that holds one.
template <class Request>
[[nodiscard]] Option<Request> report_option(ReportChoice Request::*member) {
  return parsed_option<Request>(
      {.name = "--report",
       .value = "auto|none|FILE",
       .group = OptionGroup::results,
       .help = "The page that shows the run: auto (beside the picture), none, or a .html file"},
      member, parse_report, print_report);
}

}  // namespace lull::run
