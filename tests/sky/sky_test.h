#pragma once

#include <doctest/doctest.h>

#include <cmath>

#include "core/utc.h"
#include "sky/vector.h"

namespace lull::sky {

/// The moment of a text as "1992-12-16T00:00:00".
inline Utc utc(const char* text) { return parse_iso8601(text).value(); }

/// How far two angles are apart, degrees.
inline double apart_deg(double a, double b) { return std::abs(half_turn(a - b)); }

}  // namespace lull::sky
