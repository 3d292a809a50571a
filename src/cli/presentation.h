#pragma once

#include <string>

#include "cli/progress_line.h"
#include "run/option.h"

namespace lull::cli {

/// In what form figures are printed.
enum class Form { text, json };

/// Whether progress is shown.
enum class Verbosity { normal, quiet };

/// What concerns the command line alone.
struct Presentation {
  std::string recipe;   ///< a recipe to repeat, empty = none
  std::string profile;  ///< of the instrument, empty = none
  Form form = Form::text;
  Verbosity verbosity = Verbosity::normal;

  [[nodiscard]] ProgressStyle progress_style() const {
    if (verbosity == Verbosity::quiet) return ProgressStyle::quiet;
    return form == Form::json ? ProgressStyle::json : ProgressStyle::words;
  }
};

/// Whether a verb can repeat a recipe.
enum class Repeats { recipe, nothing };

/// --recipe, --profile, --json and --quiet.
[[nodiscard]] run::OptionTable<Presentation> presentation_options(Repeats repeats);

/// --json alone.
[[nodiscard]] run::OptionTable<Presentation> json_options();

}  // namespace lull::cli
