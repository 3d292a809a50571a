// lull-sim: captures whose true picture is known.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <filesystem>

#include "cli/interrupts.h"
#include "cli/progress_line.h"
#include "core/error.h"
#include "core/parallel.h"
#include "files/atomic_file.h"
#include "lab/mosaic.h"
#include "lab/presets.h"
#include "lab/sim_mosaic.h"
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
  if (!options.size.empty()) {
    const lull::Size size = lull::lab::size_in("--size", options.size);
    p.width_px = size.width_px;
    p.height_px = size.height_px;
  }
  if (!options.name.empty()) p.name = options.name;
  if (options.frames > 0) p.frames = options.frames;
  if (options.seed > 0) p.seed = options.seed;
  check_not_overwritten(options, p);
  const lull::Progress progress([&](auto... x) { line.show(x...); }, cancel);
  const auto path = lull::lab::simulate(p, options.folder, progress);
  line.end();
  fmt::print("wrote {} and its truth: {} frames of {} x {} px\n", path.string(), p.frames,
             p.width_px, p.height_px);
}

void make_mosaic(const lull::lab::MosaicCommand& command, lull::cli::ProgressLine& line,
                 const lull::CancelToken& cancel) {
  const lull::lab::MosaicParameters p = lull::lab::parameters_of(command);
  const lull::Progress progress([&](auto... x) { line.show(x...); }, cancel);
  lull::lab::simulate_mosaic(p, command.folder, progress);
  line.end();
  fmt::print("wrote {} panels of {} x {} px and their truth into {}\n", p.count(), p.panel.width_px,
             p.panel.height_px, command.folder);
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
  lull::lab::MosaicCommand mosaic;
  lull::lab::add_mosaic_command(app, mosaic);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : static_cast<int>(ExitStatus::wrong_usage);
  }
  const lull::cli::Interrupts interrupts;
  const char* panels_stage = mosaic.parameters.recorded() ? "recording panels" : "rendering panels";
  lull::cli::ProgressLine line(
      options.quiet || mosaic.quiet ? lull::cli::ProgressStyle::quiet
                                    : lull::cli::ProgressStyle::words,
      mosaic.asked_for()
          ? std::vector<lull::run::Stage>{{"drawing the scene", 1},
                                          {panels_stage, mosaic.parameters.recorded() ? 20.0 : 1.0}}
          : std::vector<lull::run::Stage>{{"simulating", 1}});
  try {
    if (options.list) {
      list_presets();
      return 0;
    }
    lull::set_thread_count(mosaic.asked_for() ? mosaic.threads : options.threads);
    if (mosaic.asked_for()) {
      make_mosaic(mosaic, line, interrupts.cancel_token());
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
