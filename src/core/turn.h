#pragma once

#include <string_view>

namespace lull {

/// How a frame is turned relative to others of its capture. A telescope that goes over to the other
/// side of its mount (meridian flip) turns by half; a mirror in the light path mirrors.
enum class Turn : unsigned {
  none = 0,
  left_right = 1,  ///< mirrored: left becomes right
  up_down = 2,     ///< mirrored: up becomes down
  half = 3,        ///< by 180 degrees: both
};

inline constexpr int kTurns = 4;

/// One turn after the other. Each undoes itself.
[[nodiscard]] constexpr Turn operator*(Turn a, Turn b) {
  return static_cast<Turn>(static_cast<unsigned>(a) ^ static_cast<unsigned>(b));
}

[[nodiscard]] constexpr bool swaps_columns(Turn turn) {
  return (static_cast<unsigned>(turn) & 1U) != 0;
}

[[nodiscard]] constexpr bool swaps_rows(Turn turn) {
  return (static_cast<unsigned>(turn) & 2U) != 0;
}

/// As notes and findings say it.
[[nodiscard]] constexpr std::string_view turn_text(Turn turn) {
  switch (turn) {
    case Turn::none:
      return "not turned";
    case Turn::left_right:
      return "mirrored left to right";
    case Turn::up_down:
      return "mirrored top to bottom";
    case Turn::half:
      return "turned by 180 degrees";
  }
  return "";
}

}  // namespace lull
