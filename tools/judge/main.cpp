#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <charconv>
#include <cstdio>
#include <exception>
#include <filesystem>
#include <new>
#include <optional>
#include <string>
#include <system_error>

#include "core/error.h"
#include "files/picture_file.h"
#include "judge/comparison.h"
#include "judge/judge.h"
#include "judge/mosaic.h"
#include "judge/mosaic_report.h"
#include "judge/report.h"

namespace {

using namespace lull;

struct CommandLine {
  std::string result;
  std::string truth;
  std::optional<double> scale;
  std::string picture;
  bool json = false;
};

std::optional<double> scale_in(const std::string& text) {
  double scale = 0;
  const char* end = text.data() + text.size();
  const auto [read, error] = std::from_chars(text.data(), end, scale);
  if (error != std::errc() || read != end || !(scale >= 1 && scale <= 3)) return std::nullopt;
  return scale;
}

void define(CLI::App& app, CommandLine& line) {
  app.set_version_flag("-V,--version", fmt::format("Lull {}", LULL_VERSION));
  app.add_option("RESULT", line.result, "The picture to judge: TIFF, PNG or FITS")->required();
  app.add_option("TRUTH", line.truth, "The truth of its capture: NAME.truth.fits")->required();
  app.add_option("--scale", line.scale,
                 "Scale of the result, from 1 to 3; without it 1, 1.5, 2 and 3 are tried")
      ->check([](const std::string& text) {
        const std::optional<double> scale = scale_in(text);
        return scale ? std::string() : fmt::format("'{}' must be a number from 1 to 3", text);
      });
  app.add_option("--picture", line.picture,
                 "Write truth, result and amplified difference side by side, as PNG")
      ->check([](const std::string& name) {
        const bool png = name.ends_with(".png") || name.ends_with(".PNG");
        return png ? std::string() : fmt::format("'{}' must end in .png", name);
      });
  app.add_flag("--json", line.json, "Print the figures as JSON");
  app.footer(
      "lull-judge mosaic judges a mosaic of panels of lull-sim mosaic: see its --help.\n"
      "Gain and offset fit the result, 1.0 = full scale of its integers, to the truth.\n"
      "Exit status: 0 done, 1 internal error, 2 wrong usage, 3 input cannot be used,\n"
      "5 output cannot be written.");
}

void check_not_input(const CommandLine& line) {
  for (const std::string& input : {line.result, line.truth}) {
    std::error_code ignored;
    if (std::filesystem::equivalent(line.picture, input, ignored)) {
      throw UsageError(fmt::format("--picture '{}' is an input and would be lost", line.picture));
    }
  }
}

void execute(const CommandLine& line) {
  if (!line.picture.empty()) check_not_input(line);
  const judge::Truth truth = judge::read_truth(line.truth);
  const files::PictureFile result = files::read_picture(line.result);
  judge::JudgeOptions options;
  options.scale = line.scale;
  const judge::Verdict verdict = judge::judge(result.picture, truth, options);
  double factor = 0;
  if (!line.picture.empty()) factor = judge::write_comparison(line.picture, verdict);
  if (line.json) {
    nlohmann::ordered_json json = judge::to_json(verdict);
    if (!line.picture.empty()) json["difference_factor"] = factor;
    fmt::print("{}\n", json.dump(1));
    return;
  }
  fmt::print("{}", judge::to_text(verdict));
  if (line.picture.empty()) return;
  fmt::print("{}: truth, result, difference x {}\n", line.picture, factor);
}

int fail(ExitStatus status, const std::string& message) {
  fmt::print(stderr, "lull-judge: {}\n", message);
  return static_cast<int>(status);
}

// lull-judge mosaic MOSAIC --truth FOLDER
struct MosaicLine {
  std::string mosaic;
  std::string truth;
  bool json = false;
};

void define(CLI::App& app, MosaicLine& line) {
  app.add_option("MOSAIC", line.mosaic, "The mosaic to judge: TIFF, PNG or FITS")->required();
  app.add_option("--truth", line.truth, "The folder into which lull-sim mosaic wrote its panels")
      ->required();
  app.add_flag("--json", line.json, "Print the figures as JSON");
}

void execute(const MosaicLine& line) {
  const judge::MosaicTruth truth = judge::read_mosaic_truth(line.truth);
  const files::PictureFile mosaic = files::read_picture(line.mosaic);
  const judge::MosaicVerdict verdict = judge::judge_mosaic(mosaic.picture, truth);
  fmt::print("{}", line.json ? judge::to_json(verdict).dump(1) + "\n" : judge::to_text(verdict));
}

template <class Line>
int run(CLI::App& app, int argc, char** argv) {
  Line line;
  define(app, line);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error);
    return fail(ExitStatus::wrong_usage,
                fmt::format("{}; see {} --help", error.what(), app.get_name()));
  }
  execute(line);
  if (std::fflush(stdout) != 0) {
    return fail(ExitStatus::unwritable_output, "the figures cannot be written to standard output");
  }
  return static_cast<int>(ExitStatus::done);
}

int run(int argc, char** argv) {
  if (argc > 1 && std::string(argv[1]) == "mosaic") {
    CLI::App app("Judges a mosaic against the truth of its panels", "lull-judge mosaic");
    return run<MosaicLine>(app, argc - 1, argv + 1);
  }
  CLI::App app("Judges a picture against the truth of a simulated capture", "lull-judge");
  return run<CommandLine>(app, argc, argv);
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const RunError& error) {
    return fail(error.status(), error.what());
  } catch (const std::bad_alloc&) {
    return fail(ExitStatus::internal_error, "out of memory; close other programs");
  } catch (const std::exception& error) {
    return fail(ExitStatus::internal_error, fmt::format("internal error: {}", error.what()));
  }
}
