#pragma once

#include <string>
#include <vector>

#include "run/option.h"

namespace lull::cli {

/// Text of the help for a verb.
struct VerbHelp {
  std::string name;
  std::string summary;
  std::string example;
  std::vector<run::OptionFacts> options;
};

/// Columns of the terminal on standard output; 80 where it is none.
[[nodiscard]] int terminal_columns();

/// The same of standard error; 0 where it is none, since programs and log files take lines whole.
[[nodiscard]] int error_columns();

/// Text broken at spaces, never within a word or between a number and its unit, with lines after
/// the first set in.
/// @param column  where the first line begins.
[[nodiscard]] std::string wrapped(const std::string& text, int column, int indent, int columns);

/// The lines of a text, those that are too long broken and set in by 2 columns. Rows of tables, in
/// which two spaces follow each other, stay as they are, and so do names of files written.
[[nodiscard]] std::string fitted_lines(const std::string& text, int columns);

/// "lull stack CAPTURE... -o FILE [OPTION]...".
[[nodiscard]] std::string usage_of(const VerbHelp& verb);

/// `lull VERB --help`: usage, an example, and the options by group.
[[nodiscard]] std::string help_text(const VerbHelp& verb, int columns);

/// The options as Markdown, for the page of the verb.
[[nodiscard]] std::string options_markdown(const VerbHelp& verb);

}  // namespace lull::cli
