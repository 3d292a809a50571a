#pragma once

#include <CLI/CLI.hpp>
#include <cstdint>
#include <string>

#include "lab/mosaic_plan.h"

namespace lull::lab {

/// What the command `lull-sim mosaic` was asked for.
struct MosaicCommand {
  CLI::App* app = nullptr;
  std::string folder;
  std::string panel;
  std::string overlap;
  std::string air = "fair";
  MosaicParameters parameters;
  int threads = 0;
  bool quiet = false;

  [[nodiscard]] bool asked_for() const { return app != nullptr && app->parsed(); }
};

/// Adds the command to the program. @param command  outlives `program`.
void add_mosaic_command(CLI::App& program, MosaicCommand& command);

/// What it says in all. @throws UsageError.
[[nodiscard]] MosaicParameters parameters_of(const MosaicCommand& command);

/// "640x480" as a size. @param option  whose value it is. @throws UsageError.
[[nodiscard]] Size size_in(const std::string& option, const std::string& text);

}  // namespace lull::lab
