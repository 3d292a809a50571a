#pragma once

#include <string>

#include "run/option.h"

namespace lull::cli {

/// What concerns the command line alone.
struct Presentation {
  std::string recipe;  ///< a recipe to repeat, empty = none
  bool json = false;
  bool quiet = false;
};

/// Whether a verb can repeat a recipe.
enum class Repeats { recipe, nothing };

[[nodiscard]] run::OptionTable<Presentation> presentation_options(Repeats repeats);

}  // namespace lull::cli
