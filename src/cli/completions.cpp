#include "cli/completions.h"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cctype>
#include <string_view>

#include "core/choices.h"

namespace lull::cli {

namespace {

/// The option of every command that is in no table.
run::OptionFacts help_switch() {
  return {.name = "--help", .help = "Show the options of the command", .short_name = "-h"};
}

/// `lull help` and its options, written as a verb.
VerbHelp help_verb(const std::vector<std::string>& pages) {
  VerbHelp help{"help", "Show the page of a command or a subject", "lull help stack", {}};
  help.options = {
      {.name = "page", .value = fmt::format("{}", fmt::join(pages, "|"))},
      {.name = "--format", .value = "text|markdown|manual|html", .help = "Format of the page"},
      {.name = "--completions",
       .value = fmt::format("{}", fmt::join(shell_names(), "|")),
       .help = "Print the completions for a shell"}};
  return help;
}

bool is_mosaic(const std::string& word) {
  return word.size() == 4 && word.find_first_not_of("RGB") == std::string::npos;
}

/// Placeholders that stand for a value are in capitals or begin with a digit.
bool is_word(const std::string& text) {
  return is_mosaic(text) ||
         (std::islower(static_cast<unsigned char>(text.front())) != 0 &&
          text.find_first_not_of("abcdefghijklmnopqrstuvwxyz0123456789-") == std::string::npos);
}

bool is_file(const std::string& text) {
  return text == "FILE" || text == "FOLDER" || text == "CAPTURE" || text == "STACK";
}

std::vector<std::string> spellings_of(const run::OptionFacts& option) {
  if (option.short_name.empty()) return {option.name};
  return {option.short_name, option.name};
}

/// In single quotes for bash and zsh.
std::string in_quotes(const std::string& text) {
  std::string out = "'";
  for (const char c : text) out += c == '\'' ? std::string("'\\''") : std::string(1, c);
  return out + "'";
}

std::vector<run::OptionFacts> by_name(const VerbHelp& verb) {
  std::vector<run::OptionFacts> out;
  for (const run::OptionFacts& option : verb.options) {
    if (!option.by_place()) out.push_back(option);
  }
  out.push_back(help_switch());
  return out;
}

std::vector<run::OptionFacts> by_place(const VerbHelp& verb) {
  std::vector<run::OptionFacts> out;
  for (const run::OptionFacts& option : verb.options) {
    if (option.by_place()) out.push_back(option);
  }
  return out;
}

// bash

std::string bash_reply(const ValueWords& value) {
  std::string text =
      fmt::format("words={}", in_quotes(fmt::format("{}", fmt::join(value.words, " "))));
  return value.file ? text + " files=yes" : text;
}

std::string bash_case(const VerbHelp& verb) {
  std::vector<std::string> names;
  std::string values;
  for (const run::OptionFacts& option : by_name(verb)) {
    for (const std::string& name : spellings_of(option)) names.push_back(name);
    if (option.is_switch()) continue;
    values += fmt::format("        {}) {}; return ;;\n", fmt::join(spellings_of(option), "|"),
                          bash_reply(value_words(option)));
  }
  std::string text = fmt::format("    {})\n", verb.name);
  if (!values.empty()) text += fmt::format("      case $before in\n{}      esac\n", values);
  text += fmt::format("      options={}\n", in_quotes(fmt::format("{}", fmt::join(names, " "))));
  // bash does not say which of several is meant.
  ValueWords any;
  for (const run::OptionFacts& option : by_place(verb)) {
    const ValueWords one = value_words(option);
    any.words.insert(any.words.end(), one.words.begin(), one.words.end());
    any.file = any.file || one.file;
  }
  if (any.file || !any.words.empty()) text += fmt::format("      {}\n", bash_reply(any));
  return text + "      ;;\n";
}

constexpr std::string_view kBashFrame =
    R"(# bash completion for lull, written by `lull help --completions bash`.

# Sets words, options and files for the command, after the word `before`.
_lull_expect() {{
  local command=$1 before=$2
  case $command in
{}  esac
}}

_lull() {{
  local current=${{COMP_WORDS[COMP_CWORD]}} before=${{COMP_WORDS[COMP_CWORD-1]}}
  local words= options= files=
  # bash splits --name=value at the sign.
  if [[ $current == "=" ]]; then
    current=
  elif [[ $before == "=" && COMP_CWORD -gt 2 ]]; then
    before=${{COMP_WORDS[COMP_CWORD-2]}}
  fi
  if ((COMP_CWORD == 1)); then
    words={}
  else
    _lull_expect "${{COMP_WORDS[1]}}" "$before"
  fi
  COMPREPLY=()
  if [[ $current == -* ]]; then
    mapfile -t COMPREPLY < <(compgen -W "$options" -- "$current")
    return
  fi
  mapfile -t COMPREPLY < <(compgen -W "$words" -- "$current")
  if [[ -n $files ]]; then
    compopt -o filenames 2>/dev/null
    local file
    while IFS= read -r file; do COMPREPLY+=("$file"); done < <(compgen -f -- "$current")
  fi
}}
complete -F _lull lull
)";

std::string bash(const std::vector<VerbHelp>& verbs) {
  std::string cases;
  std::vector<std::string> names;
  for (const VerbHelp& verb : verbs) {
    names.push_back(verb.name);
    cases += bash_case(verb);
  }
  names.insert(names.end(), {"--help", "--version"});
  return fmt::format(fmt::runtime(kBashFrame), cases,
                     in_quotes(fmt::format("{}", fmt::join(names, " "))));
}

// zsh

/// A description inside the brackets of _arguments, or a message between its colons.
std::string zsh_text(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (std::string_view("[]:\\").find(c) != std::string_view::npos) out += '\\';
    out += c;
  }
  return out;
}

std::string zsh_action(const ValueWords& value) {
  if (!value.file) {
    return value.words.empty() ? " " : fmt::format("({})", fmt::join(value.words, " "));
  }
  if (value.words.empty()) return "_files";
  return fmt::format("{{compadd -- {}; _files}}", fmt::join(value.words, " "));
}

std::string zsh_option(const run::OptionFacts& option) {
  std::string text;
  for (const std::string& name : spellings_of(option)) {
    std::string spec =
        option.takes_many() ? "*" : fmt::format("({})", fmt::join(spellings_of(option), " "));
    spec += name;
    if (!option.is_switch()) spec += name.starts_with("--") ? "=" : "+";
    spec += fmt::format("[{}]", zsh_text(option.help));
    if (!option.is_switch()) {
      spec += fmt::format(":{}:{}", zsh_text(option.value), zsh_action(value_words(option)));
    }
    text += fmt::format(" \\\n        {}", in_quotes(spec));
  }
  return text;
}

std::string zsh_case(const VerbHelp& verb) {
  std::string text = fmt::format("    {})\n      _arguments -s", verb.name);
  for (const run::OptionFacts& option : by_name(verb)) text += zsh_option(option);
  int place = 0;
  for (const run::OptionFacts& option : by_place(verb)) {
    ++place;
    const std::string title = option.name == "page" ? option.name : zsh_text(option.value);
    text += fmt::format(
        " \\\n        {}",
        in_quotes(fmt::format("{}:{}:{}", option.takes_many() ? "*" : std::to_string(place), title,
                              zsh_action(value_words(option)))));
  }
  return text + "\n      ;;\n";
}

constexpr std::string_view kZshFrame = R"(#compdef lull
# zsh completion for lull, written by `lull help --completions zsh`.

local context state state_descr line
typeset -A opt_args
local -a commands
commands=(
{})
_arguments -C '(- *)'{{-h,--help}}'[Show the commands]' '(- *)'{{-V,--version}}'[Show the version]' \
  '1:command:->command' '*::argument:->argument' && return
case $state in
  command) _describe -t commands command commands ;;
  argument)
    case $words[1] in
{}    esac
    ;;
esac
)";

std::string zsh(const std::vector<VerbHelp>& verbs) {
  std::string commands;
  std::string cases;
  for (const VerbHelp& verb : verbs) {
    commands += fmt::format("  {}\n", in_quotes(verb.name + ":" + zsh_text(verb.summary)));
    cases += zsh_case(verb);
  }
  return fmt::format(fmt::runtime(kZshFrame), commands, cases);
}

// fish

std::string fish_quotes(const std::string& text) {
  std::string out = "'";
  for (const char c : text) {
    if (c == '\'' || c == '\\') out += '\\';
    out += c;
  }
  return out + "'";
}

/// What the value of an option, or a word by place, may be.
std::string fish_value(const ValueWords& value) {
  std::string text = value.file ? " -F" : " -f";
  if (!value.words.empty()) {
    text += fmt::format(" -a {}", fish_quotes(fmt::format("{}", fmt::join(value.words, " "))));
  }
  return text;
}

std::string fish_option(const run::OptionFacts& option) {
  std::string text = fmt::format(" -l {}", option.name.substr(2));
  if (!option.short_name.empty()) text += fmt::format(" -s {}", option.short_name.substr(1));
  if (!option.is_switch()) text += " -r" + fish_value(value_words(option));
  return text + " -d " + fish_quotes(option.help);
}

std::string fish(const std::vector<VerbHelp>& verbs) {
  std::string text =
      "# fish completion for lull, written by `lull help --completions fish`.\n\n"
      "complete -c lull -f\n"
      "complete -c lull -n __fish_use_subcommand -s h -l help -d 'Show the commands'\n"
      "complete -c lull -n __fish_use_subcommand -s V -l version -d 'Show the version'\n";
  for (const VerbHelp& verb : verbs) {
    text += fmt::format("\ncomplete -c lull -n __fish_use_subcommand -a {} -d {}\n", verb.name,
                        fish_quotes(verb.summary));
    const std::string after =
        fmt::format("complete -c lull -n '__fish_seen_subcommand_from {}'", verb.name);
    for (const run::OptionFacts& option : by_name(verb)) text += after + fish_option(option) + "\n";
    for (const run::OptionFacts& option : by_place(verb)) {
      text += after + fish_value(value_words(option)) + "\n";
    }
  }
  return text;
}

}  // namespace

ValueWords value_words(const run::OptionFacts& option) {
  ValueWords out;
  for (std::size_t at = 0; at < option.value.size();) {
    const std::size_t end = std::min(option.value.find('|', at), option.value.size());
    const std::string part = option.value.substr(at, end - at);
    if (is_file(part)) {
      out.file = true;
    } else if (!part.empty() && is_word(part)) {
      out.words.push_back(part);
    }
    at = end + 1;
  }
  return out;
}

std::vector<std::string> shell_names() { return {"bash", "zsh", "fish"}; }

std::string completions(const std::string& shell, const std::vector<VerbHelp>& verbs,
                        const std::vector<std::string>& pages) {
  std::vector<VerbHelp> all = verbs;
  all.push_back(help_verb(pages));
  if (shell == "bash") return bash(all);
  if (shell == "zsh") return zsh(all);
  if (shell == "fish") return fish(all);
  throw invalid_choice("--completions", shell, shell_names());
}

}  // namespace lull::cli
