#pragma once

#include <algorithm>
#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "core/utc.h"
#include "files/metadata.h"

namespace lull::run {

/// The value of the card of that key, if it is there and of that type.
template <class T>
const T* find_card(const std::vector<files::Card>& cards, const char* key) {
  const auto card = std::find_if(cards.begin(), cards.end(),
                                 [key](const files::Card& c) { return c.key == key; });
  return card == cards.end() ? nullptr : std::get_if<T>(&card->value);
}

/// Angle of a pixel, arcsec, as the card PIXSCALE states it; none where it is not there.
[[nodiscard]] std::optional<double> arcsec_per_px(const std::vector<files::Card>& cards);

/// The moment that a card of that key states, such as DATE-AVG; none where it is not there.
[[nodiscard]] std::optional<Utc> moment_in(const std::vector<files::Card>& cards, const char* key);

/// How a stack was made: those cards of its header that are the same for any finish. Only cards of
/// this program with their meaning are read.
/// @return empty where the file does not come from `lull stack`. @throws InputError: damaged.
[[nodiscard]] std::vector<files::Card> read_stack_cards(const std::filesystem::path& path);

/// Whether a picture is the linear stack, or its detail was restored.
enum class StackDetail { as_stacked, restored };

/// "Linear stack of the best 150 of 200 frames of moon.mkv", as far as the cards hold it.
[[nodiscard]] std::string describe_stack(const std::vector<files::Card>& cards, StackDetail detail);

}  // namespace lull::run
