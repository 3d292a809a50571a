// lull-bounds: what a capture allows, given its truth.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <cstdio>
#include <exception>
#include <filesystem>
#include <map>
#include <nlohmann/json.hpp>

#include "bounds/bounds.h"
#include "cli/interrupts.h"
#include "cli/progress_line.h"
#include "core/error.h"
#include "judge/judge.h"
#include "judge/report.h"
#include "lab/truth_read.h"
#include "run/opening.h"

namespace {

using namespace lull;

struct Options {
  run::CaptureInput input;
  std::string truth;
  bool json = false;
  bool quiet = false;
};

nlohmann::ordered_json figures(const bounds::Bound& bound, const judge::Truth& truth) {
  files::Picture picture;
  picture.channels.push_back(Plane::copy_of(bound.picture.view()));
  nlohmann::ordered_json json = judge::to_json(judge::judge(picture, truth));
  json.erase("frc_curve");
  json["share"] = bound.share;
  return json;
}

double area(const nlohmann::ordered_json& json) {
  return json.at("after_removing_smooth_distortion").at("frc_auc").get<double>();
}

// The best of each kind, over the shares kept.
nlohmann::ordered_json judged(const std::vector<bounds::Bound>& all, const judge::Truth& truth) {
  nlohmann::ordered_json out;
  for (const bounds::Bound& bound : all) {
    nlohmann::ordered_json one;
    try {
      one = figures(bound, truth);
    } catch (const InputError&) {  // too blurred to be recognised: no figures
      continue;
    }
    if (!out.contains(bound.name) || area(one) > area(out[bound.name])) out[bound.name] = one;
  }
  return out;
}

void print(const nlohmann::ordered_json& json) {
  fmt::print("{:<14} {:>6} {:>9} {:>22}\n", "", "kept", "FRC area", "PSNR, best radial, dB");
  for (const auto& [name, one] : json.items()) {
    const auto& after = one.at("after_removing_smooth_distortion");
    fmt::print("{:<14} {:>5.1f}% {:>9.3f} {:>22.2f}\n", name, 100 * one.at("share").get<double>(),
               area(one), after.at("psnr_best_radial").get<double>());
  }
}

void execute(Options& options, cli::ProgressLine& line, const CancelToken& cancel) {
  const Progress progress([&](auto... x) { line.show(x...); }, cancel);
  const judge::Truth truth = judge::read_truth(options.truth);
  const auto frames = lab::read_frame_table(options.truth);
  const auto fields = lab::read_fields(options.truth);
  if (fields.size() < frames.size()) {
    throw InputError(fmt::format("{}: {} shift fields for {} frames", options.truth, fields.size(),
                                 frames.size()));
  }
  const auto store = run::open_capture(options.input, run::Passes::one, {progress, {}}).frames;
  const auto json = judged(bounds::make_bounds(*store, frames, fields, progress), truth);
  line.end();
  if (options.json) {
    fmt::print("{}\n", json.dump(1));
  } else {
    print(json);
  }
}

int fail(ExitStatus status, const std::string& message) {
  fmt::print(stderr, "lull-bounds: {}\n", message);
  return static_cast<int>(status);
}

int run_tool(int argc, char** argv) {
  Options options;
  CLI::App app(
      "What a capture allows: plain mean, best frame, best shift and add, and the oracle,\n"
      "which knows the true shift fields and the true sharpness. After smooth distortion is "
      "removed.",
      "lull-bounds");
  app.set_version_flag("-V,--version", fmt::format("Lull {}", LULL_VERSION));
  app.add_option_function<std::string>(
         "CAPTURE", [&](const std::string& capture) { options.input.captures = {capture}; })
      ->required();
  app.add_option("TRUTH", options.truth, "NAME.truth.fits, with NAME.frames.csv beside it")
      ->required();
  app.add_option("--dark", options.input.dark, "Capture or image of darkness, to subtract");
  app.add_option("--flat", options.input.flat, "Capture or image of an even light, to divide by");
  app.add_flag("--json", options.json, "Print the figures as JSON");
  app.add_flag("--quiet", options.quiet, "No progress line");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error);
    return fail(ExitStatus::wrong_usage, fmt::format("{}; see lull-bounds --help", error.what()));
  }
  const cli::Interrupts interrupts;
  cli::ProgressLine line(options.quiet ? cli::ProgressStyle::quiet : cli::ProgressStyle::words,
                         {{"measuring the sensor", 0.1}, {"bounds", 1}});
  try {
    execute(options, line, interrupts.cancel_token());
    return 0;
  } catch (const RunError& error) {
    line.end();
    return fail(error.status(), error.what());
  } catch (const std::exception& error) {
    line.end();
    return fail(ExitStatus::internal_error, error.what());
  }
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run_tool(argc, argv);
  } catch (const std::exception& error) {
    return fail(ExitStatus::internal_error, error.what());
  }
}
