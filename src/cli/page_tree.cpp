#include "cli/page_tree.h"

#include <cmark-gfm-core-extensions.h>
#include <fmt/format.h>

#include <algorithm>
#include <memory>
#include <string_view>

namespace lull::cli {

namespace {

struct FreeIterator {
  void operator()(cmark_iter* iterator) const { cmark_iter_free(iterator); }
};

/// Found first, since the tree must not change under an iterator.
std::vector<cmark_node*> nodes_of_type(cmark_node* root, std::string_view type) {
  std::vector<cmark_node*> out;
  const std::unique_ptr<cmark_iter, FreeIterator> iterator(cmark_iter_new(root));
  for (cmark_event_type event = cmark_iter_next(iterator.get()); event != CMARK_EVENT_DONE;
       event = cmark_iter_next(iterator.get())) {
    cmark_node* node = cmark_iter_get_node(iterator.get());
    if (event == CMARK_EVENT_ENTER && type == cmark_node_get_type_string(node)) {
      out.push_back(node);
    }
  }
  return out;
}

void append_text(cmark_node* parent, const char* text) {
  cmark_node* node = cmark_node_new(CMARK_NODE_TEXT);
  cmark_node_set_literal(node, text);
  cmark_node_append_child(parent, node);
}

void make_link(cmark_node* code, const std::string& page) {
  cmark_node* link = cmark_node_new(CMARK_NODE_LINK);
  cmark_node_set_url(link, (page + ".html").c_str());
  append_text(link, page.c_str());
  cmark_node_insert_before(code, link);
  cmark_node_free(code);
}

void move_children(cmark_node* from, cmark_node* to) {
  while (cmark_node* child = cmark_node_first_child(from)) cmark_node_append_child(to, child);
}

/// A cell's texts lie in the memory of the cell: copies outlive it.
void own_texts(cmark_node* root) {
  for (const std::string_view type : {"text", "code"}) {
    for (cmark_node* node : nodes_of_type(root, type)) {
      const std::string text = cmark_node_get_literal(node);
      cmark_node_set_literal(node, text.c_str());
    }
  }
}

cmark_node* item_of_row(cmark_node* row) {
  cmark_node* paragraph = cmark_node_new(CMARK_NODE_PARAGRAPH);
  const char* separator = nullptr;
  for (cmark_node* cell = cmark_node_first_child(row); cell != nullptr;
       cell = cmark_node_next(cell)) {
    if (separator != nullptr) append_text(paragraph, separator);
    separator = separator == nullptr ? ": " : "; ";
    move_children(cell, paragraph);
  }
  cmark_node* item = cmark_node_new(CMARK_NODE_ITEM);
  cmark_node_append_child(item, paragraph);
  return item;
}

}  // namespace

void refer_to_pages(cmark_node* root, const std::vector<std::string>& pages,
                    const std::vector<std::string>& commands, PageReferences references) {
  const auto holds = [](const std::vector<std::string>& names, const std::string& name) {
    return std::find(names.begin(), names.end(), name) != names.end();
  };
  for (cmark_node* code : nodes_of_type(root, "code")) {
    const std::string text = cmark_node_get_literal(code);
    if (!text.ends_with(".md")) continue;
    const std::string name = text.substr(0, text.size() - 3);
    if (!holds(pages, name)) continue;
    if (references == PageReferences::links) {
      make_link(code, name);
    } else if (references == PageReferences::manual) {
      const int section = holds(commands, name) ? 1 : 7;
      cmark_node_set_literal(code, fmt::format("lull-{}({})", name, section).c_str());
    } else {
      cmark_node_set_literal(code, ("lull help " + name).c_str());
    }
  }
}

void tables_to_lists(cmark_node* root) {
  for (cmark_node* table : nodes_of_type(root, "table")) {
    own_texts(table);
    cmark_node* list = cmark_node_new(CMARK_NODE_LIST);
    cmark_node_set_list_type(list, CMARK_BULLET_LIST);
    cmark_node_set_list_tight(list, 1);
    cmark_node* row = cmark_node_first_child(table);  // that of the titles
    while ((row = cmark_node_next(row)) != nullptr) {
      cmark_node_append_child(list, item_of_row(row));
    }
    cmark_node_insert_before(table, list);
    cmark_node_free(table);
  }
}

void indent_examples(cmark_node* root) {
  constexpr std::string_view kIndent = "    ";
  for (cmark_node* example : nodes_of_type(root, "code_block")) {
    const std::string_view text = cmark_node_get_literal(example);
    std::string out;
    for (std::size_t at = 0; at < text.size();) {
      const std::size_t end = std::min(text.find('\n', at), text.size());
      if (end > at) out += kIndent;
      out += text.substr(at, end - at);
      out += '\n';
      at = end + 1;
    }
    cmark_node_set_literal(example, out.c_str());
  }
}

void drop_title(cmark_node* root) {
  for (cmark_node* heading : nodes_of_type(root, "heading")) {
    const int level = cmark_node_get_heading_level(heading);
    if (level == 1) {
      cmark_node_free(heading);
    } else {
      cmark_node_set_heading_level(heading, level - 1);
    }
  }
}

}  // namespace lull::cli
