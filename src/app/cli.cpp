#include "app/cli.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <atomic>
#include <csignal>
#include <cstdio>
#include <exception>
#include <limits>
#include <new>
#include <string>
#include <system_error>
#include <vector>

#include "app/commands.h"
#include "app/interrupts.h"
#include "app/memory_size.h"
#include "app/progress_line.h"
#include "app/usage.h"
#include "core/parallel.h"

namespace lull::app {

namespace {

constexpr const char* kNoStandardOutput =
    "the figures cannot be written to standard output: the disk is full, or the program that reads "
    "them has ended";

// Everything that the command line can say.
struct CommandLine {
  InspectOptions inspect;
  RankOptions rank;
  MetricsOptions metrics;
  StackCommandOptions stack;
  FinishCommandOptions finish;
  MasterCommandOptions master;
  std::string memory = "auto";
};

void add_input_options(CLI::App& command, InputOptions& input, std::string& memory,
                       bool capture_required) {
  auto* capture = command.add_option("capture", input.capture,
                                     "A video, or a numbered sequence such as moon_%04d.png");
  capture->check(file_name);
  if (capture_required) capture->required();
  command.add_option("--dark", input.dark, "Dark to subtract: a capture, image, folder or master")
      ->check(file_name);
  command.add_option("--flat", input.flat, "Flat to divide by: a capture, image, folder or master")
      ->check(file_name);
  command.add_option("--flat-dark", input.flat_dark, "Dark of the flat")->check(file_name);
  command.add_option(
      "--metric", input.metric,
      "Sharpness measure: auto, gradient, laplacian, modified-laplacian, fine, coarse");
  command.add_option("--cfa", input.cfa,
                     "Colour filters of the frames as stored: auto, none, RGGB, BGGR, GBRG, GRBG");
  command.add_option("--byte-order", input.byte_order,
                     "Of raw 16-bit samples: auto, little or big end first");
  command.add_option("--pixel-format", input.pixel_format,
                     "Of raw video, if the file cannot say it: auto or FFmpeg's name, such as "
                     "gray16le");
  command.add_option("--threads", input.threads, "Threads to use; 0 = all")
      ->check(whole_number(0, 1024));
  command.add_option("--memory", memory, "Most memory to use, such as 800M or 2G");
  command.add_flag("--json", input.json, "Print the figures as JSON");
  command.add_flag("--quiet", input.quiet, "No progress line");
}

void add_object_option(CLI::App& command, std::string& object) {
  command.add_option("--object", object,
                     "What was recorded, for the words of caution: auto, sun, moon, planet, star");
}

void add_pattern_option(CLI::App& command, InputOptions& input) {
  command.add_option("--pattern-noise", input.pattern_noise,
                     "Of rows and columns, if no dark is given: auto (found and taken off) or off");
}

void add_inspect_options(CLI::App& command, InspectOptions& options) {
  command
      .add_option("--plot", options.plot,
                  "Draw levels, sharpness, path and detail over the capture as SVG")
      ->check(file_name);
  add_optics_options(command, options.optics);
  add_object_option(command, options.object);
}

void define_master(CLI::App& app, MasterCommandOptions& options) {
  CLI::App* master =
      app.add_subcommand("master", "Combine dark or flat frames into one calibration file");
  master->add_option("capture", options.inputs, "Captures, images or folders of these, combined")
      ->required()
      ->check(file_name);
  master->add_option("-o,--output", options.output, "The master: .fits or .fit")
      ->required()
      ->check(file_name);
  master->add_option("--kind", options.kind, "What the frames are: dark or flat")->required();
  master->add_option("--flat-dark", options.flat_dark, "Dark of the flat, taken off it")
      ->check(file_name);
  master->add_option("--threads", options.threads, "Threads to use; 0 = all")
      ->check(whole_number(0, 1024));
  master->add_flag("--json", options.json, "Print the figures as JSON");
  master->add_flag("--quiet", options.quiet, "No progress line");
}

void define_finish(CLI::App& app, FinishCommandOptions& options) {
  CLI::App* command = app.add_subcommand("finish", "Detail and colour on an existing stack");
  command
      ->add_option("capture", options.input,
                   "A linear stack (.linear.fits), or any linear TIFF, PNG or FITS picture")
      ->required()
      ->check(file_name);
  command->add_option("-o,--output", options.output, "The picture: .tif, .png or .fits")
      ->required();
  const std::vector<std::string> look = add_finish_options(*command, options.look);
  CLI::Option* recipe = command->add_option(
      "--recipe", options.recipe, "Finish as an earlier run did, with the options of its recipe");
  recipe->check(file_name);
  for (const std::string& set_by_recipe : look) recipe->excludes(set_by_recipe);
  command->add_option("--threads", options.threads, "Threads to use; 0 = all")
      ->check(whole_number(0, 1024));
  command->add_flag("--json", options.json, "Print the figures as JSON");
  command->add_flag("--quiet", options.quiet, "No progress line");
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
  add_inspect_options(*inspect, line.inspect);

  CLI::App* rank = app.add_subcommand("rank", "Sharpness of every frame: table, sorted video");
  add_input_options(*rank, line.rank.input, line.memory, true);
  add_pattern_option(*rank, line.rank.input);
  rank->add_option("--csv", line.rank.csv, "Write the table of frames")->check(file_name);
  CLI::Option* sorted =
      rank->add_option("--sorted", line.rank.sorted, "Write a lossless video (FFV1), best first")
          ->check(file_name);
  rank->add_option("--best", line.rank.best, "Only so many of the best frames in the video")
      ->needs(sorted)
      ->check(whole_number(1, std::numeric_limits<int>::max()));

  CLI::App* metrics =
      app.add_subcommand("metrics", "How well each sharpness measure ranks a test capture");
  add_input_options(*metrics, line.metrics.input, line.memory, true);
  add_pattern_option(*metrics, line.metrics.input);
  metrics
      ->add_option("--truth", line.metrics.truth,
                   "True Strehl ratios: NAME.frames.csv, or the NAME.truth.fits beside it")
      ->check(file_name);
  metrics->add_option("--csv", line.metrics.csv, "Write the table of measures")->check(file_name);
  metrics
      ->add_option("--plot", line.metrics.plot,
                   "Draw it as SVG: loss and ranking; without truth, agreement and reliability")
      ->check(file_name);

  CLI::App* stack = app.add_subcommand("stack", "Rank, register, stack and restore detail");
  add_input_options(*stack, line.stack.input, line.memory, false);
  add_pattern_option(*stack, line.stack.input);
  stack->add_option("-o,--output", line.stack.output, "The picture: .tif, .png or .fits")
      ->required();
  stack->add_option("--keep", line.stack.keep, "Frames to keep: auto, 15% or 300");
  stack->add_option("--patch", line.stack.patch, "Side of the patches: auto or pixels");
  stack->add_option("--frame", line.stack.frame, "covered: cut to what most frames show; whole");
  stack->add_option("--finish", line.stack.finish, "Detail restoration: auto or none");
  const std::vector<std::string> look = add_finish_options(*stack, line.stack.look);
  stack->add_option("--dispersion", line.stack.dispersion,
                    "Register the colours to each other: auto or off");
  stack->add_option("--fusion", line.stack.fusion,
                    "Sum frames by what each holds: frequency by frequency (frequency), by the "
                    "sharpness of patches alone (selection), or auto");
  stack->add_option("--scale", line.stack.scale,
                    "Size of the picture, frame = 1: 1, or enlarged 1.5, 2 or 3 times by drizzle");
  stack->add_option("--pixfrac", line.stack.pixfrac,
                    "Side of a drop of drizzle, pixels of a frame: auto (0.7), or 0.1 to 1");
  add_optics_options(*stack, line.stack.optics);
  add_object_option(*stack, line.stack.object);
  stack->add_option(
      "--report", line.stack.report,
      "The page that shows the run: auto (beside the picture), none, or a .html file");
  CLI::Option* recipe = stack->add_option("--recipe", line.stack.recipe,
                                          "Repeat an earlier run with the options of its recipe");
  recipe->check(file_name);
  for (const char* set_by_recipe :
       {"--dark", "--flat", "--flat-dark", "--cfa", "--byte-order", "--pixel-format",
        "--pattern-noise", "--metric", "--keep", "--patch", "--frame", "--finish", "--dispersion",
        "--fusion", "--scale", "--pixfrac"}) {
    recipe->excludes(set_by_recipe);
  }
  for (const std::string& set_by_recipe : look) recipe->excludes(set_by_recipe);
  define_finish(app, line.finish);
  define_master(app, line.master);
}

int fail(ExitStatus status, const std::string& message) {
  fmt::print(stderr, "lull: {}\n", message);
  return static_cast<int>(status);
}

void execute(const CLI::App& app, CommandLine& line, const std::atomic<bool>& stop_wanted) {
  const std::size_t memory =
      line.memory == "auto" ? default_memory_size() : parse_memory_size(line.memory);
  const auto run = [&](int threads, bool quiet, const auto& command) {
    set_thread_count(threads);
    ProgressLine shown(quiet);
    const Progress progress([&shown](std::string_view stage, std::int64_t done,
                                     std::int64_t total) { shown.show(stage, done, total); },
                            &stop_wanted);
    command(progress);
  };
  const auto run_with = [&](InputOptions& input, const auto& command) {
    input.memory_bytes = memory;
    run(input.threads, input.quiet, command);
  };
  if (app.got_subcommand("inspect")) {
    run_with(line.inspect.input, [&](const Progress& p) { inspect(line.inspect, p); });
  } else if (app.got_subcommand("rank")) {
    run_with(line.rank.input, [&](const Progress& p) { rank(line.rank, p); });
  } else if (app.got_subcommand("metrics")) {
    run_with(line.metrics.input, [&](const Progress& p) { metrics(line.metrics, p); });
  } else if (app.got_subcommand("finish")) {
    run(line.finish.threads, line.finish.quiet,
        [&](const Progress& p) { finish_stack(line.finish, p); });
  } else if (app.got_subcommand("master")) {
    run(line.master.threads, line.master.quiet, [&](const Progress& p) { master(line.master, p); });
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
  // Without these, a closed pipe or a limit on the size of files would end the program before it
  // could tell why and clean up.
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error);
    return fail(
        ExitStatus::wrong_usage,
        explain(app, error, std::vector<std::string>(argv + std::min(argc, 1), argv + argc)));
  }
  try {
    const Interrupts interrupts;
    execute(app, line, interrupts.stop_wanted());
    if (std::fflush(stdout) != 0) {
      return fail(ExitStatus::unwritable_output, kNoStandardOutput);
    }
    return static_cast<int>(ExitStatus::done);
  } catch (const RunError& error) {
    return fail(error.status(), error.what());
  } catch (const std::bad_alloc&) {
    return fail(ExitStatus::internal_error,
                "out of memory; close other programs, or give --memory a smaller size");
  } catch (const std::system_error& error) {
    if (std::ferror(stdout) != 0) return fail(ExitStatus::unwritable_output, kNoStandardOutput);
    return fail(ExitStatus::internal_error, fmt::format("internal error: {}", error.what()));
  } catch (const std::exception& error) {
    return fail(ExitStatus::internal_error, fmt::format("internal error: {}", error.what()));
  }
}

}  // namespace lull::app
