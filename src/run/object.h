#pragma once

#include <optional>
#include <string>
#include <vector>

#include "finish/white_balance.h"
#include "health/shape.h"
#include "run/option_kinds.h"

namespace lull::run {

/// The object, as far as the user names it.
enum class Object {
  unspecified,
  sun,
  moon,
  planet,  ///< whichever
  mercury,
  venus,
  mars,
  jupiter,
  saturn,
  uranus,
  neptune,
  star
};

/// The words for objects: auto, sun, moon, planet, mercury ... neptune, star.
[[nodiscard]] const Words<Object>& object_words();

/// The object that the names of all captures say ("sun", "lunar", "jupiter"); unspecified where
/// they say none, or do not agree, or are of an eclipse or a transit.
[[nodiscard]] Object object_in_names(const std::vector<std::string>& captures);

/// Published colour of the whole disc in sunlight, of those planets whose colour indices are known:
/// Mallama, Krobusek & Pavlov 2017, Icarus 282, 19, two digits (from memory).
[[nodiscard]] std::optional<finish::Light> published_colour(Object object);

/// --object, as an option of a request that holds one.
template <class Request>
[[nodiscard]] Option<Request> object_option(Object Request::*member) {
  return word_option<Request>(
      {.name = "--object",
       .value = "auto|sun|moon|planet|jupiter|...|star",
       .group = OptionGroup::instrument,
       .help = "What was recorded; sets its colour, and the caution for the Sun",
       .in_recipe = InRecipe::may_change,
       .earlier = "auto",
       .card = "OBJECT",
       .card_comment = "option: what was recorded"},
      member, object_words());
}

/// Safety rules for the Sun (as given by NASA and the American Astronomical Society, from memory):
/// plain where the Sun is named, by the option or by the name of the capture ("sun", "solar"); with
/// an 'if' where frames alone could show the Sun, as its surface and its disc cannot be
/// distinguished for sure from those of the Moon or a planet; empty where a star is seen, or where
/// another object is named, by the option or by every name ("moon", "mars"). Names of eclipses and
/// transits, and of the planets that pass the Sun, name no other object.
[[nodiscard]] std::string sun_caution(Object named, const std::vector<std::string>& captures,
                                      health::Kind seen);

}  // namespace lull::run
