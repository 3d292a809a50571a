#include "app/cli.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <atomic>
#include <csignal>
#include <cstdio>
#include <exception>
#include <new>

#include "app/commands.h"
#include "app/memory_size.h"
#include "app/progress_line.h"
#include "core/parallel.h"

namespace lull::app {

namespace {

std::atomic<bool> stop_wanted{false};

extern "C" void on_interrupt(int signal_number) {
  // A second Ctrl-C ends the program at once.
  stop_wanted = true;
  std::signal(signal_number, SIG_DFL);
}

// Everything that the command line can say.
struct CommandLine {
  InspectOptions inspect;
  RankOptions rank;
  StackCommandOptions stack;
  std::string memory = "auto";
};

void add_input_options(CLI::App& command, InputOptions& input, std::string& memory,
                       bool capture_required) {
  auto* capture = command.add_option("capture", input.capture,
                                     "A video, or a numbered sequence such as moon_%04d.png");
  if (capture_required) capture->required();
  command.add_option("--dark", input.dark, "Capture or image of darkness, to subtract");
  command.add_option("--flat", input.flat, "Capture or image of an even light, to divide by");
  command.add_option("--flat-dark", input.flat_dark, "Dark of the flat");
  command.add_option(
      "--metric", input.metric,
      "Sharpness measure: auto, gradient, laplacian, modified-laplacian, fine, coarse");
  command.add_option("--threads", input.threads, "Threads to use; 0 = all")
      ->check(CLI::Range(0, 1024));
  command.add_option("--memory", memory, "Most memory to use, such as 800M or 2G");
  command.add_flag("--json", input.json, "Print the figures as JSON");
  command.add_flag("--quiet", input.quiet, "No progress line");
}

void define(CLI::App& app, CommandLine& line) {
  app.set_version_flag("--version", fmt::format("Lull {}", LULL_VERSION));
  app.require_subcommand(1);
  app.footer(
      "Exit status: 0 done, 1 internal error, 2 wrong usage, 3 input cannot be read,\n"
      "4 nothing usable in it, 5 output cannot be written, 130 interrupted.\n"
      "The Sun: only with a certified full-aperture filter in front of the optics, the finder\n"
      "capped, and never an eye at unfiltered optics. Follow the maker's and local guidance.");

  CLI::App* inspect = app.add_subcommand("inspect", "What a capture is, and whether it is healthy");
  add_input_options(*inspect, line.inspect.input, line.memory, true);

  CLI::App* rank = app.add_subcommand("rank", "Sharpness of every frame: table, sorted video");
  add_input_options(*rank, line.rank.input, line.memory, true);
  rank->add_option("--csv", line.rank.csv, "Write the table of frames");
  CLI::Option* sorted =
      rank->add_option("--sorted", line.rank.sorted, "Write a lossless video (FFV1), best first");
  rank->add_option("--best", line.rank.best, "Only so many of the best frames in the video")
      ->needs(sorted)
      ->check(CLI::PositiveNumber);

  CLI::App* stack = app.add_subcommand("stack", "Rank, register, stack and restore detail");
  add_input_options(*stack, line.stack.input, line.memory, false);
  stack->add_option("-o,--output", line.stack.output, "The picture: .tif, .png or .fits")
      ->required();
  stack->add_option("--keep", line.stack.keep, "Frames to keep: auto, 15% or 300");
  stack->add_option("--patch", line.stack.patch, "Side of the patches: auto or pixels");
  stack->add_option("--frame", line.stack.frame, "covered: cut to what most frames show; whole");
  stack->add_option("--finish", line.stack.finish, "Detail restoration: auto or none");
  stack->add_option("--recipe", line.stack.recipe, "Repeat an earlier run from its recipe");
}

// Levenshtein distance, for a hint when a word is mistyped.
std::size_t distance(const std::string& a, const std::string& b) {
  std::vector<std::size_t> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) row[j] = j;
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t substituted = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({substituted, row[j] + 1, row[j - 1] + 1});
    }
  }
  return row[b.size()];
}

// " Did you mean --keep?" for the nearest command or option to an argument that is neither.
std::string hint(const CLI::App& app, int argc, char** argv) {
  std::vector<std::string> known;
  const CLI::App* command = &app;
  for (const CLI::App* sub : app.get_subcommands([](const CLI::App*) { return true; })) {
    known.push_back(sub->get_name());
    if (argc > 1 && sub->get_name() == argv[1]) command = sub;
  }
  for (const CLI::Option* option : command->get_options()) {
    for (const std::string& name : option->get_lnames()) known.push_back("--" + name);
  }
  for (int i = 1; i < argc; ++i) {
    const std::string word = std::string(argv[i]).substr(0, std::string(argv[i]).find('='));
    const bool is_option = word.rfind("--", 0) == 0;
    if (std::find(known.begin(), known.end(), word) != known.end() || (!is_option && i > 1)) {
      continue;
    }
    const auto nearest = std::min_element(
        known.begin(), known.end(),
        [&](const auto& a, const auto& b) { return distance(word, a) < distance(word, b); });
    if (nearest != known.end() && distance(word, *nearest) <= 3) {
      return fmt::format(" Did you mean {}?", *nearest);
    }
  }
  return {};
}

int fail(ExitStatus status, const std::string& message) {
  fmt::print(stderr, "lull: {}\n", message);
  return static_cast<int>(status);
}

void execute(const CLI::App& app, CommandLine& line) {
  const std::size_t memory =
      line.memory == "auto" ? default_memory_size() : parse_memory_size(line.memory);
  const auto run_with = [&](InputOptions& input, const auto& command) {
    input.memory_bytes = memory;
    set_thread_count(input.threads);
    ProgressLine shown(input.quiet);
    const Progress progress([&shown](std::string_view stage, std::int64_t done,
                                     std::int64_t total) { shown.show(stage, done, total); },
                            &stop_wanted);
    command(progress);
  };
  if (app.got_subcommand("inspect")) {
    run_with(line.inspect.input, [&](const Progress& p) { inspect(line.inspect, p); });
  } else if (app.got_subcommand("rank")) {
    run_with(line.rank.input, [&](const Progress& p) { rank(line.rank, p); });
  } else {
    run_with(line.stack.input, [&](const Progress& p) { stack(line.stack, p); });
  }
}

}  // namespace

int run(int argc, char** argv) {
  CLI::App app("Lull: one sharp picture from a fast video of the Moon, a planet or the Sun",
               "lull");
  CommandLine line;
  define(app, line);
  std::signal(SIGINT, on_interrupt);
  std::signal(SIGTERM, on_interrupt);
  std::signal(SIGPIPE, SIG_IGN);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error);
    return fail(ExitStatus::wrong_usage, fmt::format("{}.{} 'lull --help' tells what there is.",
                                                     error.what(), hint(app, argc, argv)));
  }
  try {
    execute(app, line);
    if (std::fflush(stdout) != 0) {
      return fail(ExitStatus::unwritable_output, "standard output cannot be written");
    }
    return static_cast<int>(ExitStatus::done);
  } catch (const RunError& error) {
    return fail(error.status(), error.what());
  } catch (const std::bad_alloc&) {
    return fail(ExitStatus::internal_error,
                "out of memory; close other programs, or give --memory a smaller size");
  } catch (const std::exception& error) {
    return fail(ExitStatus::internal_error, fmt::format("internal error: {}", error.what()));
  }
}

}  // namespace lull::app
