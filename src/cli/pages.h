#pragma once

#include <functional>
#include <string>
#include <vector>

#include "cli/help.h"

namespace lull::cli {

/// How a page is shown.
enum class PageFormat { text, markdown, manual, html };

/// Names of the pages that are part of the program: commands and subjects.
[[nodiscard]] std::vector<std::string> page_names();

/// A page of src/docs, the options of its command filled in where it asks for them by the line
/// "<!-- options: NAME -->". Rendered by cmark-gfm (CommonMark with tables).
/// @param verbs    all verbs. @param columns  for PageFormat::text.
/// @throws UsageError for a page that does not exist.
[[nodiscard]] std::string page(const std::string& name, PageFormat format,
                               const std::vector<VerbHelp>& verbs, int columns);

}  // namespace lull::cli
