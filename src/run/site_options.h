#pragma once

#include <optional>
#include <string>
#include <utility>

#include "run/option_kinds.h"
#include "run/plan_values.h"
#include "sky/observer.h"

namespace lull::run {

/// --site, as an option of a request that holds one.
template <class Request>
[[nodiscard]] Option<Request> site_option(std::optional<sky::Site> Request::*member,
                                          std::string help) {
  return parsed_option<Request>({.name = "--site",
                                 .value = "LAT,LON[,HEIGHT]",
                                 .group = OptionGroup::input,
                                 .help = std::move(help)},
                                member, parse_site, site_option_text);
}

/// --zone.
template <class Request>
[[nodiscard]] Option<Request> zone_option(std::string Request::*member, std::string help) {
  return text_option<Request>(
      {.name = "--zone", .value = "NAME", .group = OptionGroup::input, .help = std::move(help)},
      member);
}

}  // namespace lull::run
