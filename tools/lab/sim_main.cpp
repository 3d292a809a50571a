// lull-sim: captures whose true picture is known.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <charconv>
#include <cstdio>
#include <exception>
#include <filesystem>

#include "cli/interrupts.h"
#include "cli/progress_line.h"
#include "core/error.h"
#include "core/parallel.h"
#include "files/atomic_file.h"
#include "lab/presets.h"
#include "lab/simulator.h"

namespace {

using lull::ExitStatus;
using lull::lab::Parameters;

struct Options {
  std::string what;
  std::string folder;
  std::string size;
  std::string name;
  int frames = 0;
  std::uint64_t seed = 0;
  int threads = 0;
  bool list = false;
  bool quiet = false;
};

void list_presets() {
  for (const auto& preset : lull::lab::presets()) {
    const Parameters& p = preset.parameters;
    fmt::print("{:<24} {:>3} x {:<3}  {}\n", preset.name, p.width_px, p.height_px, preset.about);
  }
}

// A file may hold parameters alone, or what an earlier run wrote beside its capture.
Parameters parameters_of(const std::string& what) {
  std::error_code ignored;
  if (!std::filesystem::is_regular_file(what, ignored)) return lull::lab::preset(what).parameters;
  return lull::lab::read_parameters(what);
}

void set_size(const std::string& text, Parameters& p) {
  const auto cross = text.find('x');
  const auto number = [&](std::size_t from, std::size_t to, int& out) {
    const char* end = text.data() + to;
    const auto [stop, error] = std::from_chars(text.data() + from, end, out);
    return error == std::errc() && stop == end;
  };
  if (cross == std::string::npos || !number(0, cross, p.width_px) ||
      !number(cross + 1, text.size(), p.height_px)) {
    throw lull::UsageError(
        fmt::format("--size {}: give it as WIDTHxHEIGHT, such as 640x480", text));
  }
}

// The run writes NAME.json, which may be the very file that it read its parameters from.
void check_not_overwritten(const Options& options, const Parameters& p) {
  const std::filesystem::path written = std::filesystem::path(options.folder) / (p.name + ".json");
  std::error_code error;
  if (!std::filesystem::equivalent(options.what, written, error)) return;
  throw lull::UsageError(
      fmt::format("{}: the run would write its own parameters over this file; choose another "
                  "folder with -o, or another name with --name",
                  options.what));
}

void simulate(const Options& options, lull::cli::ProgressLine& line,
              const lull::CancelToken& cancel) {
  Parameters p = parameters_of(options.what);
  if (!options.size.empty()) set_size(options.size, p);
  if (!options.name.empty()) p.name = options.name;
  if (options.frames > 0) p.frames = options.frames;
  if (options.seed > 0) p.seed = options.seed;
  check_not_overwritten(options, p);
  lull::set_thread_count(options.threads);
  const lull::Progress progress([&](auto... x) { line.show(x...); }, cancel);
  const auto path = lull::lab::simulate(p, options.folder, progress);
  line.end();
  fmt::print("wrote {} and its truth: {} frames of {} x {} px\n", path.string(), p.frames,
             p.width_px, p.height_px);
}

int fail(int status, const std::string& message) {
  fmt::print(stderr, "lull-sim: {}\n", message);
  return status;
}

int run_tool(int argc, char** argv) {
  Options options;
  CLI::App app("Makes captures whose true picture is known", "lull-sim");
  app.set_version_flag("-V,--version", fmt::format("Lull {}", LULL_VERSION));
  app.add_option("preset", options.what, "Name of a preset, or a JSON file of parameters");
  app.add_option("-o,--output", options.folder, "Folder to write into; made if missing");
  app.add_option("--frames", options.frames, "Number of frames")->check(CLI::Range(1, 1000000));
  app.add_option("--size", options.size, "Size of the frames, such as 640x480");
  app.add_option("--seed", options.seed, "Another sky, another noise");
  app.add_option("--name", options.name, "Name of the files instead of that of the preset");
  app.add_option("--threads", options.threads, "Threads to use; 0 = all; no influence on the bytes")
      ->check(CLI::Range(0, 1024));
  app.add_flag("--list", options.list, "List the presets");
  app.add_flag("--quiet", options.quiet, "No progress line");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : static_cast<int>(ExitStatus::wrong_usage);
  }
  const lull::cli::Interrupts interrupts;
  lull::cli::ProgressLine line(
      options.quiet ? lull::cli::ProgressStyle::quiet : lull::cli::ProgressStyle::words,
      {{"simulating", 1}});
  try {
    if (options.list) {
      list_presets();
      return 0;
    }
    if (options.what.empty() || options.folder.empty()) {
      throw lull::UsageError(
          "give a preset (--list shows them) and a folder: "
          "lull-sim moon-close-fair -o captures");
    }
    simulate(options, line, interrupts.cancel_token());
    return 0;
  } catch (const lull::RunError& error) {
    line.end();
    return fail(static_cast<int>(error.status()), error.what());
  } catch (const std::exception& error) {
    line.end();
    return fail(static_cast<int>(ExitStatus::internal_error), error.what());
  }
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run_tool(argc, argv);
  } catch (const std::exception& error) {
    return fail(static_cast<int>(ExitStatus::internal_error), error.what());
  }
}
