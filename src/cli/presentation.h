#pragma once

#include <string>

#include "cli/progress_line.h"
#include "run/option.h"

namespace lull::cli {

/// In what form figures are printed.
enum class Form { text, json };

/// What concerns the command line alone.
struct Presentation {
  std::string recipe;  ///< a recipe to repeat, empty = none
  Form form = Form::text;
  Verbosity verbosity = Verbosity::normal;
};

/// Whether a verb can repeat a recipe.
enum class Repeats { recipe, nothing };

[[nodiscard]] run::OptionTable<Presentation> presentation_options(Repeats repeats);

}  // namespace lull::cli
