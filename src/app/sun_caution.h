#pragma once

#include <string>

#include "health/shape.h"

namespace lull::app {

/// What was recorded, as far as the user tells.
enum class Object { not_told, sun, moon, planet, star };

/// auto, sun, moon, planet or star. @throws UsageError naming these.
[[nodiscard]] Object parse_object(const std::string& text);

/// Safety rules for the Sun (as told by NASA and the American Astronomical Society, from memory):
/// plain where the Sun is told, by the option or by the name of the capture ("sun", "solar"); with
/// an 'if' where frames alone could show the Sun, as its surface and its disc cannot be told for
/// sure from those of the Moon or a planet; empty where another object is told, or a star is seen.
[[nodiscard]] std::string sun_caution(Object told, const std::string& capture, health::Kind seen);

}  // namespace lull::app
