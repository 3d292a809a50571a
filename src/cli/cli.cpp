#include "cli/cli.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <csignal>
#include <cstdio>
#include <exception>
#include <iostream>
#include <memory>
#include <new>
#include <nlohmann/json.hpp>
#include <string>
#include <string_view>
#include <system_error>
#include <vector>

#include "cli/completions.h"
#include "cli/interrupts.h"
#include "cli/pages.h"
#include "cli/streams.h"
#include "cli/usage.h"
#include "cli/verb.h"
#include "core/choices.h"
#include "core/error.h"

namespace lull::cli {

namespace {

constexpr const char* kNoStandardOutput =
    "standard output cannot be written: the disk is full, or the program that reads it has ended";

constexpr const char* kNoThreads =
    "no result: the system refuses more threads; give --threads 1, close other programs, or raise "
    "the limit (ulimit -u)";

// What can be done depends on the options of the verb.
std::string no_memory(const CLI::App& app) {
  std::string message = "no result: the system refuses more memory; close other programs";
  const CLI::App* verb = app.get_subcommands().empty() ? nullptr : app.get_subcommands().front();
  const auto has = [verb](const char* option) {
    return verb != nullptr && verb->get_option_no_throw(option) != nullptr;
  };
  if (has("--memory")) message += ", give --memory a smaller size";
  if (has("--crop")) message += ", or use a smaller area with --crop";
  if (verb != nullptr && verb->get_name() == "finish") message += ", or cut the picture into parts";
  return message;
}

struct Help {
  std::string page;
  std::string format = "text";
  std::string completions{};
};

void define(CLI::App& app, const std::vector<std::unique_ptr<Verb>>& verbs, Help& help) {
  app.set_version_flag("-V,--version", fmt::format("Lull {}", LULL_VERSION));
  app.require_subcommand(1);
  app.get_formatter()->label("SUBCOMMAND", "COMMAND");
  app.get_formatter()->label("Subcommands", "Commands");
  app.footer(
      "Example: lull stack moon.ser\n\n"
      "Exit status: 0 done, 1 internal error, 2 wrong usage, 3 input cannot be read,\n"
      "4 nothing usable in it, 5 output cannot be written or exists already, or there\n"
      "is too little memory, 130 interrupted.\n\n"
      "The Sun: only with a certified full-aperture filter in front of the optics, the\n"
      "finder capped, and never an eye at unfiltered optics. Follow the maker's and\n"
      "local guidance.");
  for (const auto& verb : verbs) verb->define(app);
  CLI::App* command = app.add_subcommand("help", "Show the page of a command or a subject");
  command->add_option("page", help.page, fmt::format("{}", fmt::join(page_names(), ", ")));
  command->add_option("--format", help.format, "text, markdown, manual or html");
  command->add_option(
      "--completions", help.completions,
      fmt::format("Print the completions for a shell: {}", fmt::join(shell_names(), ", ")));
}

PageFormat parse_format(const std::string& text) {
  if (text == "text") return PageFormat::text;
  if (text == "markdown") return PageFormat::markdown;
  if (text == "manual") return PageFormat::manual;
  if (text == "html") return PageFormat::html;
  throw invalid_choice("--format", text, {"text", "markdown", "manual", "html"});
}

void show_help(const CLI::App& app, const std::vector<std::unique_ptr<Verb>>& verbs,
               const Help& help) {
  std::vector<VerbHelp> known;
  known.reserve(verbs.size());
  for (const auto& verb : verbs) known.push_back(verb->help());
  if (!help.completions.empty()) {
    fmt::print("{}", completions(help.completions, known, page_names()));
    return;
  }
  if (help.page.empty()) {
    // App::help() would show that of the subcommand in use, which is this one.
    fmt::print("{}",
               app.get_formatter()->make_help(&app, app.get_name(), CLI::AppFormatMode::Normal));
    return;
  }
  fmt::print("{}", page(help.page, parse_format(help.format), known, terminal_columns()));
}

/// Reports why a run ends, as the caller reads it.
class Failures {
 public:
  Failures(int argc, char** argv)
      : json_(std::find(argv, argv + argc, std::string_view("--json")) != argv + argc) {}

  [[nodiscard]] int operator()(ExitStatus status, const std::string& message) const {
    const int code = static_cast<int>(status);
    if (json_) {
      const nlohmann::json event = {{"event", "error"}, {"status", code}, {"message", message}};
      // A file's name need not be UTF-8.
      write_error(event.dump(-1, ' ', true, nlohmann::json::error_handler_t::replace) + "\n");
    } else {
      const std::string line = fmt::format("lull: {}", message);
      const int columns = error_columns();
      write_error(printable((columns > 0 ? wrapped(line, 0, 2, columns) : line) + "\n"));
    }
    return code;
  }

 private:
  bool json_;
};

void execute(const CLI::App& app, const std::vector<std::unique_ptr<Verb>>& verbs,
             const CancelToken& cancel) {
  for (const auto& verb : verbs) {
    if (app.got_subcommand(verb->name())) verb->execute(cancel);
  }
}

}  // namespace

int run(int argc, char** argv) {
  keep_standard_streams();
  CLI::App app("Lull: one sharp picture from a fast video of the Moon, a planet or the Sun",
               "lull");
  const std::vector<std::unique_ptr<Verb>> verbs = all_verbs();
  Help help;
  define(app, verbs, help);
  const Failures fail(argc, argv);
  // Without these, a closed pipe or a limit on the size of files would end the program before it
  // could report why and clean up.
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) {  // help or version
      const int status = app.exit(error);
      if (std::cout.flush() && std::fflush(stdout) == 0) return status;
      return fail(ExitStatus::unwritable_output, kNoStandardOutput);
    }
    return fail(
        ExitStatus::wrong_usage,
        explain(app, error, std::vector<std::string>(argv + std::min(argc, 1), argv + argc)));
  }
  try {
    const Interrupts interrupts(
        [&fail] { static_cast<void>(fail(ExitStatus::interrupted, Interrupted().what())); });
    if (app.got_subcommand("help")) {
      show_help(app, verbs, help);
    } else {
      execute(app, verbs, interrupts.cancel_token());
    }
    if (std::fflush(stdout) != 0) {
      return fail(ExitStatus::unwritable_output, kNoStandardOutput);
    }
    return static_cast<int>(ExitStatus::done);
  } catch (const RunError& error) {
    return fail(error.status(), error.what());
  } catch (const std::bad_alloc&) {
    return fail(ExitStatus::unwritable_output, no_memory(app));
  } catch (const std::system_error& error) {
    if (std::ferror(stdout) != 0) return fail(ExitStatus::unwritable_output, kNoStandardOutput);
    if (error.code() == std::errc::resource_unavailable_try_again)
      return fail(ExitStatus::unwritable_output, kNoThreads);
    return fail(ExitStatus::internal_error, fmt::format("internal error: {}", error.what()));
  } catch (const std::exception& error) {
    return fail(ExitStatus::internal_error, fmt::format("internal error: {}", error.what()));
  }
}

}  // namespace lull::cli
