#include "app/stack_cards.h"

#include <fmt/format.h>

#include <algorithm>

#include "output/fits_cards.h"

namespace lull::app {

namespace {

template <class T>
const T* find(const std::vector<output::Card>& cards, const char* key) {
  const auto card = std::find_if(cards.begin(), cards.end(),
                                 [key](const output::Card& c) { return c.key == key; });
  return card == cards.end() ? nullptr : std::get_if<T>(&card->value);
}

}  // namespace

std::vector<output::Card> read_stack_cards(const std::filesystem::path& path) {
  // In the order in which `lull stack` writes them.
  return output::read_typed_cards(
      path, {"CAPTURE", "NFRAMES", "NUSABLE", "NKEPT", "KEEP", "METRIC", "PATCH", "FUSION", "NOISE",
             "RESOL", "PATCOL", "PATROW", "PATOFF", "TIMESYS", "DATE-OBS", "DATE-AVG", "DATE-END",
             "DATESRC"});
}

std::string describe_stack(const std::vector<output::Card>& cards, bool finished) {
  const char* what = finished ? "Stack with restored detail" : "Linear stack";
  const auto* capture = find<std::string>(cards, "CAPTURE");
  const auto* frames = find<std::int64_t>(cards, "NFRAMES");
  const auto* kept = find<std::int64_t>(cards, "NKEPT");
  if (capture == nullptr || frames == nullptr || kept == nullptr) return what;
  return fmt::format("{} of the best {} of {} frames of {}", what, *kept, *frames, *capture);
}

}  // namespace lull::app
