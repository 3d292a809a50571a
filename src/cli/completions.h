#pragma once

#include <string>
#include <vector>

#include "cli/help.h"

namespace lull::cli {

/// What may follow an option on the command line, as its placeholder tells: "auto|FILE".
struct ValueWords {
  std::vector<std::string> words;  ///< offered as they stand: "auto"
  bool file = false;               ///< the name of a file or folder, too
};

[[nodiscard]] ValueWords value_words(const run::OptionFacts& option);

/// Shells for which there are completions.
[[nodiscard]] std::vector<std::string> shell_names();

/// The script by which a shell completes the command line of `lull`, from the table of options.
/// @param pages  what `lull help` takes.
/// @throws UsageError for a shell that is none of shell_names().
[[nodiscard]] std::string completions(const std::string& shell, const std::vector<VerbHelp>& verbs,
                                      const std::vector<std::string>& pages);

}  // namespace lull::cli
