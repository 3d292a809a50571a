#include "cli/pages.h"

#include <cmark-gfm-core-extensions.h>
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cstdlib>
#include <memory>
#include <string_view>

#include "cli/page_files.h"
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

std::string with_options(std::string markdown, const std::vector<VerbHelp>& verbs) {
  for (const VerbHelp& verb : verbs) {
    const std::string mark = fmt::format("<!-- options: {} -->", verb.name);
    const std::size_t at = markdown.find(mark);
    if (at != std::string::npos) markdown.replace(at, mark.size(), options_markdown(verb));
  }
  return markdown;
}

std::string upper(std::string text) {
  std::transform(text.begin(), text.end(), text.begin(),
                 [](unsigned char c) { return static_cast<char>(std::toupper(c)); });
  return text;
}

std::string rendered(const std::string& markdown, PageFormat format, int columns) {
  if (format == PageFormat::markdown) return markdown;
  cmark_gfm_core_extensions_ensure_registered();
  const Parser parser(cmark_parser_new(CMARK_OPT_VALIDATE_UTF8));
  cmark_parser_attach_syntax_extension(parser.get(), cmark_find_syntax_extension("table"));
  cmark_parser_feed(parser.get(), markdown.data(), markdown.size());
  const Node root(cmark_parser_finish(parser.get()));
  std::unique_ptr<char, FreeText> text;
  if (format == PageFormat::manual) {
    text.reset(cmark_render_man(root.get(), CMARK_OPT_DEFAULT, 0));
  } else if (format == PageFormat::html) {
    text.reset(cmark_render_html(root.get(), CMARK_OPT_DEFAULT,
                                 cmark_parser_get_syntax_extensions(parser.get())));
  } else {
    text.reset(cmark_render_plaintext(root.get(), CMARK_OPT_DEFAULT, columns));
  }
  return text.get();
}

std::string html_document(const std::string& name, const std::string& body) {
  return fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
      "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
      "<title>lull {}</title>\n<style>body{{max-width:44rem;margin:2rem auto;padding:0 1rem;"
      "font:1rem/1.5 sans-serif;color-scheme:light dark}}pre{{overflow-x:auto}}</style>\n"
      "</head>\n<body>\n{}</body>\n</html>\n",
      name, body);
}

// For the line by which manual pages are found; a page that is no command is about its subject.
std::string summary_of(const std::string& name, const std::vector<VerbHelp>& verbs) {
  for (const VerbHelp& verb : verbs) {
    if (verb.name == name) return verb.summary;
  }
  std::string subject = name;
  std::replace(subject.begin(), subject.end(), '-', ' ');
  return "about " + subject;
}

std::string manual_page(const std::string& name, const std::string& summary,
                        const std::string& body) {
  return fmt::format(".TH LULL-{} 1 \"\" \"Lull {}\"\n.SH NAME\nlull\\-{} \\- {}\n{}", upper(name),
                     LULL_VERSION, name, summary, body);
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
  std::string text = rendered(with_options(std::string(*file->text), verbs), format, columns);
  if (format == PageFormat::html) return html_document(name, text);
  if (format == PageFormat::manual) return manual_page(name, summary_of(name, verbs), text);
  return text;
}

}  // namespace lull::cli
