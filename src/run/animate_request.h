#pragma once

#include <string>
#include <vector>

#include "finish/tone.h"
#include "run/option.h"

namespace lull::run {

enum class PlayOrder { forward, there_and_back };

enum class FilmAlign { automatic, off };

/// Whether all pictures are brought to one brightness.
enum class FilmLight { even, kept };

/// What `lull animate` is asked for.
struct AnimateRequest {
  std::vector<std::string> pictures;
  std::string output;
  double speed = 8;  ///< pictures a second
  PlayOrder order = PlayOrder::forward;
  int plays = 0;        ///< 0: forever
  std::string caption;  ///< under each: date, or a text; empty = none
  FilmAlign align = FilmAlign::automatic;
  FilmLight light = FilmLight::even;
  finish::Tone tone = finish::Tone::gamma;
};

[[nodiscard]] const OptionTable<AnimateRequest>& animate_options();

}  // namespace lull::run
