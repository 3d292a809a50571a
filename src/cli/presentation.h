#pragma once

#include <string>

#include "cli/progress_line.h"
#include "run/option.h"

namespace lull::cli {

/// What concerns the command line alone.
struct Presentation {
  std::string recipe;  ///< a recipe to repeat, empty = none
  bool json = false;
  bool quiet = false;

  [[nodiscard]] ProgressStyle progress_style() const {
    if (quiet) return ProgressStyle::quiet;
    return json ? ProgressStyle::json : ProgressStyle::words;
  }
};

/// Whether a verb can repeat a recipe.
enum class Repeats { recipe, nothing };

[[nodiscard]] run::OptionTable<Presentation> presentation_options(Repeats repeats);

}  // namespace lull::cli
