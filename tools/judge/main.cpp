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

int run(int argc, char** argv) {
  CLI::App app("Judges a picture against the truth of a simulated capture", "lull-judge");
  CommandLine line;
  define(app, line);
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    if (error.get_exit_code() == 0) return app.exit(error);
    return fail(ExitStatus::wrong_usage, fmt::format("{}; see lull-judge --help", error.what()));
  }
  execute(line);
  if (std::fflush(stdout) != 0) {
    return fail(ExitStatus::unwritable_output, "the figures cannot be written to standard output");
  }
  return static_cast<int>(ExitStatus::done);
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
