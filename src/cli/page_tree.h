#pragma once

#include <cmark-gfm.h>

#include <string>
#include <vector>

namespace lull::cli {

/// Makes the names of pages usable where the page is read: "NAME.md" in code becomes a link to
/// NAME.html, the manual page lull-NAME, or the command that shows it.
/// @param commands  pages of section 1 of the manual; the others are in section 7.
enum class PageReferences { links, manual, commands };
void refer_to_pages(cmark_node* root, const std::vector<std::string>& pages,
                    const std::vector<std::string>& commands, PageReferences references);

/// Each row of a table as an item of a list, since a terminal is too narrow for most tables.
void tables_to_lists(cmark_node* root);

/// Sets examples in by 4 columns, so that they stand out where all text has one font.
void indent_examples(cmark_node* root);

/// Takes the title away and raises the other headings by one level.
void drop_title(cmark_node* root);

}  // namespace lull::cli
