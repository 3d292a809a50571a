#include "cli/help.h"

#include <fmt/format.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <string_view>

#include "core/words.h"

namespace lull::cli {

namespace {

constexpr int kDefaultColumns = 80;
constexpr int kFewestColumns = 40;
constexpr std::string_view kWrote = "wrote ";  // a file name follows, which programs may read
constexpr int kTextColumn = 26;                // of the explanations

// 0 where the stream is no terminal.
int columns_of_terminal(int stream) {
  winsize size{};
  if (ioctl(stream, TIOCGWINSZ, &size) != 0) return 0;
  return size.ws_col == 0 ? kDefaultColumns : std::max<int>(size.ws_col, kFewestColumns);
}

std::vector<run::OptionFacts> by_group(std::vector<run::OptionFacts> options) {
  std::stable_sort(options.begin(), options.end(),
                   [](const auto& a, const auto& b) { return a.group < b.group; });
  return options;
}

std::string names_of(const run::OptionFacts& option) {
  if (option.by_place()) return option.value + (option.takes_many() ? "..." : "");
  std::string text = option.short_name.empty() ? "" : option.short_name + ", ";
  text += option.name;
  return option.is_switch() ? text : text + " " + option.value;
}

std::string option_lines(const run::OptionFacts& option, int columns) {
  const std::string names = "  " + names_of(option);
  std::string text = names;
  if (static_cast<int>(names.size()) + 2 > kTextColumn) {
    text += "\n" + std::string(kTextColumn, ' ');
  } else {
    text.append(static_cast<std::size_t>(kTextColumn) - names.size(), ' ');
  }
  return text + wrapped(option.help, kTextColumn, kTextColumn, columns) + "\n";
}

// Bytes but for the later ones of a character in UTF-8.
int columns_of(std::string_view text) {
  return static_cast<int>(std::count_if(text.begin(), text.end(), [](char c) {
    return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
  }));
}

}  // namespace

int terminal_columns() {
  const int columns = columns_of_terminal(STDOUT_FILENO);
  return columns > 0 ? columns : kDefaultColumns;
}

int error_columns() { return columns_of_terminal(STDERR_FILENO); }

std::string wrapped(const std::string& text, int column, int indent, int columns) {
  std::string out;
  std::size_t at = 0;
  bool first = true;
  while (at < text.size()) {
    std::size_t end = std::min(text.find(' ', at), text.size());
    while (end < text.size() && binds_number(text, end))
      end = std::min(text.find(' ', end + 1), text.size());
    const int length = columns_of(std::string_view(text).substr(at, end - at));
    if (column > indent && column + 1 + length > columns) {
      out += "\n" + std::string(static_cast<std::size_t>(indent), ' ');
      column = indent;
    } else if (!first) {
      out += ' ';
      ++column;
    }
    out.append(text, at, end - at);
    column += length;
    first = false;
    at = end + 1;
  }
  return out;
}

std::string fitted_lines(const std::string& text, int columns) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string line = text.substr(at, end - at);
    const bool whole = columns_of(line) <= columns || line.find("  ") != std::string::npos ||
                       line.starts_with(kWrote);
    out += whole ? line : wrapped(line, 0, 2, columns);
    out += '\n';
    at = end + 1;
  }
  return out;
}

std::string usage_of(const VerbHelp& verb) {
  std::string text = "lull " + verb.name;
  for (const run::OptionFacts& option : verb.options) {
    if (!option.by_place()) continue;
    text += option.is_required() ? " " + names_of(option) : fmt::format(" [{}]", names_of(option));
  }
  for (const run::OptionFacts& option : verb.options) {
    if (option.is_required() && !option.by_place()) {
      text += fmt::format(" {} {}", option.short_name.empty() ? option.name : option.short_name,
                          option.value);
    }
  }
  return text + " [OPTION]...";
}

std::string help_text(const VerbHelp& verb, int columns) {
  std::string text =
      fmt::format("{}.\n\nUsage: {}\nExample: {}\n", verb.summary, usage_of(verb), verb.example);
  std::string group;
  for (const run::OptionFacts& option : by_group(verb.options)) {
    if (const std::string name = run::group_name(option.group); name != group) {
      group = name;
      text += fmt::format("\n{}\n", group);
    }
    text += option_lines(option, columns);
  }
  return text + fmt::format("\n'lull help {}' shows the page of this command.\n", verb.name);
}

std::string options_markdown(const VerbHelp& verb) {
  std::string text;
  std::string group;
  for (const run::OptionFacts& option : by_group(verb.options)) {
    if (const std::string name = run::group_name(option.group); name != group) {
      group = name;
      text += fmt::format("### {}\n\n", group);
    }
    text += fmt::format("- `{}`: {}\n\n", names_of(option), option.help);
  }
  return text;
}

}  // namespace lull::cli
