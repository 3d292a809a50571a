#pragma once

#include <string_view>
#include <utility>
#include <variant>

#include "core/assert.h"

namespace lull {

/// Why one frame or patch was left out. Normal in real captures, so data and not an exception.
enum class Reject {
  damaged,       ///< the decoder could not give the frame whole
  black,         ///< no signal above the background
  saturated,     ///< too much of it is at full scale
  lost_target,   ///< the object could not be found again
  weak_peak,     ///< the correlation peak is too low against its background
  no_structure,  ///< nothing in it that a shift could be measured from
  doubled,       ///< the same samples as the frame before
  past_the_end,  ///< no frame of that index
};

[[nodiscard]] constexpr std::string_view reject_name(Reject reason) {
  switch (reason) {
    case Reject::damaged:
      return "damaged";
    case Reject::black:
      return "black";
    case Reject::saturated:
      return "saturated";
    case Reject::lost_target:
      return "lost_target";
    case Reject::weak_peak:
      return "weak_peak";
    case Reject::no_structure:
      return "no_structure";
    case Reject::doubled:
      return "doubled";
    case Reject::past_the_end:
      return "past_the_end";
  }
  return "unknown";
}

/// A value, or the reason why there is none. Counted and reported, never dropped silently.
template <class T>
class [[nodiscard]] Outcome {
 public:
  Outcome(T value)
      : state_(std::in_place_index<0>, std::move(value)) {}  // NOLINT: implicit on purpose

  Outcome(Reject reason) : state_(std::in_place_index<1>, reason) {}  // NOLINT: implicit on purpose

  [[nodiscard]] bool ok() const { return state_.index() == 0; }

  [[nodiscard]] const T& value() const& {
    LULL_ASSERT(ok());
    return *std::get_if<0>(&state_);
  }

  [[nodiscard]] T&& value() && {
    LULL_ASSERT(ok());
    return std::move(*std::get_if<0>(&state_));
  }

  [[nodiscard]] Reject reason() const {
    LULL_ASSERT(!ok());
    return *std::get_if<1>(&state_);
  }

 private:
  std::variant<T, Reject> state_;
};

}  // namespace lull
