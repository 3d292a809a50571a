#include "run/stack_header.h"

#include <fmt/format.h>

#include "files/fits_cards.h"

namespace lull::run {

std::optional<double> arcsec_per_px(const std::vector<files::Card>& cards) {
  const auto* scale = find_card<double>(cards, "PIXSCALE");
  return scale != nullptr && *scale > 0 ? std::optional(*scale) : std::nullopt;
}

std::optional<Utc> moment_in(const std::vector<files::Card>& cards, const char* key) {
  const auto* text = find_card<std::string>(cards, key);
  return text != nullptr ? parse_iso8601(*text) : std::nullopt;
}

std::vector<files::Card> read_stack_cards(const std::filesystem::path& path) {
  // In the order in which `lull stack` and `lull mosaic` write them.
  return files::read_typed_cards(
      path, {"MOSAIC",  "CAPTURE",  "NFRAMES",  "NUSABLE",  "NKEPT",   "KEEP",     "METRIC",
             "PATCH",   "FUSION",   "NOISE",    "SCALE",    "PIXFRAC", "NOISCORR", "FILLED",
             "OBJECT",  "APERTURE", "PIXSCALE", "RESOL",    "RESOLAS", "RESOLCUT", "HALFB",
             "HALFBAS", "HALFBCUT", "DOVERR0",  "R0",       "PATCOL",  "PATROW",   "PATOFF",
             "TIMESYS", "DATE-OBS", "DATE-AVG", "DATE-END", "DATESRC", "DEROTATE", "CMERID",
             "RED",     "GREEN",    "BLUE",     "LUMINANC"});
}

std::string describe_stack(const std::vector<files::Card>& cards, StackDetail detail) {
  const char* what =
      detail == StackDetail::restored ? "Stack with restored detail" : "Linear stack";
  const auto* capture = find_card<std::string>(cards, "CAPTURE");
  const auto* frames = find_card<std::int64_t>(cards, "NFRAMES");
  const auto* kept = find_card<std::int64_t>(cards, "NKEPT");
  if (capture == nullptr || frames == nullptr || kept == nullptr) return what;
  return fmt::format("{} of the best {} of {} frames of {}", what, *kept, *frames, *capture);
}

}  // namespace lull::run
