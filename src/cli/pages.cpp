#include "cli/pages.h"

#include <cmark-gfm-core-extensions.h>
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <memory>
#include <string_view>
#include <utility>

#include "cli/page_files.h"
#include "cli/page_tree.h"
#include "core/choices.h"

namespace lull::cli {

namespace {

struct FreeNode {
  void operator()(cmark_node* node) const { cmark_node_free(node); }
};

struct FreeText {
  void operator()(char* text) const { std::free(text); }
};

struct FreeParser {
  void operator()(cmark_parser* parser) const { cmark_parser_free(parser); }
};

using Node = std::unique_ptr<cmark_node, FreeNode>;
using Parser = std::unique_ptr<cmark_parser, FreeParser>;

/// The page of the program itself.
constexpr std::string_view kProgram = "lull";

void replace(std::string& text, const std::string& mark, const std::string& by) {
  const std::size_t at = text.find(mark);
  if (at != std::string::npos) text.replace(at, mark.size(), by);
}

bool is_verb(const std::string& name, const std::vector<VerbHelp>& verbs) {
  return std::any_of(verbs.begin(), verbs.end(),
                     [&](const VerbHelp& verb) { return verb.name == name; });
}

std::string filled(std::string markdown, const std::vector<VerbHelp>& verbs) {
  std::string commands;
  for (const VerbHelp& verb : verbs) {
    replace(markdown, fmt::format("<!-- options: {} -->", verb.name), options_markdown(verb));
    commands += fmt::format("- `{}.md`: {}\n", verb.name, verb.summary);
  }
  std::string subjects;
  for (const std::string& name : page_names()) {
    if (name != kProgram && !is_verb(name, verbs)) subjects += fmt::format("- `{}.md`\n", name);
  }
  replace(markdown, "<!-- commands -->", commands);
  replace(markdown, "<!-- subjects -->", subjects);
  return markdown;
}

std::vector<std::string> names_of(const std::vector<VerbHelp>& verbs) {
  std::vector<std::string> names;
  names.reserve(verbs.size());
  for (const VerbHelp& verb : verbs) names.push_back(verb.name);
  return names;
}

std::string upper(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return text;
}

PageReferences references_in(PageFormat format) {
  if (format == PageFormat::html) return PageReferences::links;
  return format == PageFormat::manual ? PageReferences::manual : PageReferences::commands;
}

std::string rendered(const std::string& markdown, PageFormat format,
                     const std::vector<VerbHelp>& verbs, int columns) {
  if (format == PageFormat::markdown) return markdown;
  cmark_gfm_core_extensions_ensure_registered();
  const Parser parser(cmark_parser_new(CMARK_OPT_VALIDATE_UTF8));
  cmark_parser_attach_syntax_extension(parser.get(), cmark_find_syntax_extension("table"));
  cmark_parser_feed(parser.get(), markdown.data(), markdown.size());
  const Node root(cmark_parser_finish(parser.get()));
  refer_to_pages(root.get(), page_names(), names_of(verbs), references_in(format));
  std::unique_ptr<char, FreeText> text;
  if (format == PageFormat::manual) {
    drop_title(root.get());
    tables_to_lists(root.get());
    text.reset(cmark_render_man(root.get(), CMARK_OPT_DEFAULT, 0));
  } else if (format == PageFormat::html) {
    text.reset(cmark_render_html(root.get(), CMARK_OPT_DEFAULT,
                                 cmark_parser_get_syntax_extensions(parser.get())));
  } else {
    tables_to_lists(root.get());
    indent_examples(root.get());
    text.reset(cmark_render_plaintext(root.get(), CMARK_OPT_DEFAULT, columns));
  }
  return text.get();
}

std::string html_document(const std::string& name, const std::string& body) {
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<title>{}</title>\n<style>body{{max-width:44rem;margin:2rem auto;padding:0 1rem;"
      "font:1rem/1.5 sans-serif;color-scheme:light dark}}pre,table{{overflow-x:auto}}"
      "table{{display:block}}img{{max-width:100%}}</style>\n"
      "</head>\n<body>\n{}</body>\n</html>\n",
      name == kProgram ? name : "lull " + name, body);
}

// For the line by which manual pages are found; a page that is no command is about its subject.
std::string summary_of(const std::string& name, const std::vector<VerbHelp>& verbs) {
  for (const VerbHelp& verb : verbs) {
    if (verb.name == name) return verb.summary;
  }
  if (name == kProgram) return "one sharp picture from a fast video";
  std::string subject = name;
  std::replace(subject.begin(), subject.end(), '-', ' ');
  return "about " + subject;
}

/// Of a rendered page: what man and apropos look for, and fonts that every terminal has. Words are
/// left whole (.nh), since names of options and values are among them.
std::string manual_page(const std::string& name, const std::vector<VerbHelp>& verbs,
                        std::string body) {
  for (std::size_t at = 0; (at = body.find("\\f[C]", at)) != std::string::npos;) {
    body.replace(at, 5, "\\fB");
  }
  const bool command = is_verb(name, verbs);
  const std::string title = name == kProgram ? name : "lull-" + name;
  std::string dashes = title;
  for (std::size_t at = 0; (at = dashes.find('-', at)) != std::string::npos; at += 2) {
    dashes.insert(at, 1, '\\');
  }
  std::string usage;
  for (const VerbHelp& verb : verbs) {
    if (verb.name == name) usage = fmt::format(".SH SYNOPSIS\n{}\n", usage_of(verb));
  }
  return fmt::format(
      ".TH {} {} \"\" \"Lull {}\" \"Lull\"\n.nh\n.ad l\n.SH NAME\n{} \\- {}\n{}.SH DESCRIPTION\n{}",
      upper(title), command || name == kProgram ? 1 : 7, LULL_VERSION, dashes,
      summary_of(name, verbs), usage, body);
}

}  // namespace

std::vector<std::string> page_names() {
  std::vector<std::string> names;
  for (const PageFile& file : kPageFiles) names.emplace_back(file.name);
  return names;
}

std::string page(const std::string& name, PageFormat format, const std::vector<VerbHelp>& verbs,
                 int columns) {
  const auto file = std::find_if(std::begin(kPageFiles), std::end(kPageFiles),
                                 [&](const PageFile& one) { return one.name == name; });
  if (file == std::end(kPageFiles)) throw invalid_choice("help", name, page_names());
  std::string text = rendered(filled(std::string(*file->text), verbs), format, verbs, columns);
  if (format == PageFormat::html) return html_document(name, text);
  if (format == PageFormat::manual) return manual_page(name, verbs, std::move(text));
  return text;
}

}  // namespace lull::cli
