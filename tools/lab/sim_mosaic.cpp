#include "lab/sim_mosaic.h"

#include <fmt/format.h>

#include <charconv>

#include "core/error.h"

namespace lull::lab {

namespace {

// "20%" or "0.2".
double share_in(const std::string& option, const std::string& text) {
  const bool percent = text.ends_with('%');
  const char* end = text.data() + text.size() - (percent ? 1 : 0);
  double value = 0;
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end)
    throw UsageError(fmt::format("{} {}: give it as 20% or 0.2", option, text));
  return percent ? value / 100 : value;
}

}  // namespace

Size size_in(const std::string& option, const std::string& text) {
  Size size;
  const auto cross = text.find('x');
  const auto number = [&](std::size_t from, std::size_t to, int& out) {
    const char* end = text.data() + to;
    const auto [stop, error] = std::from_chars(text.data() + from, end, out);
    return error == std::errc() && stop == end;
  };
  if (cross == std::string::npos || !number(0, cross, size.width_px) ||
      !number(cross + 1, text.size(), size.height_px)) {
    throw UsageError(fmt::format("{} {}: give it as WIDTHxHEIGHT, such as 640x480", option, text));
  }
  return size;
}

void add_mosaic_command(CLI::App& program, MosaicCommand& command) {
  CLI::App* app = program.add_subcommand(
      "mosaic", "Overlapping panels of the Moon or the Sun, and their truth");
  MosaicParameters& p = command.parameters;
  app->add_option("-o,--output", command.folder, "Folder to write into; made if missing")
      ->required();
  app->add_option("--scene", p.scene,
                  "moon; sun in white light; or sun-narrow, a narrow band with prominences")
      ->capture_default_str();
  app->add_option("--columns", p.columns, "Columns of panels")->capture_default_str();
  app->add_option("--rows", p.rows, "Rows of panels")->capture_default_str();
  app->add_option("--panel", command.panel, "Size of a panel; 1600x1200 if not given");
  app->add_option("--overlap", command.overlap, "Of neighbours; 20% if not given");
  app->add_option("--air", command.air, "good, fair, poor or changing")->capture_default_str();
  app->add_option("--libration", p.libration_deg,
                  "Turn of the globe from the first panel to the last, degrees")
      ->capture_default_str();
  app->add_option("--hours", p.hours,
                  "From the first panel to the last, in which the terminator moves; 0: it stands "
                  "still")
      ->capture_default_str();
  app->add_option(
         "--frames", p.frames,
         "Frames of each panel, recorded as a capture through moving air; 0: linear stacks")
      ->capture_default_str();
  app->add_option("--seed", p.seed, "Another scene, other errors, other noise")
      ->capture_default_str();
  app->add_option("--threads", command.threads,
                  "Threads to use; 0 = all; no influence on the bytes")
      ->check(CLI::Range(0, 1024));
  app->add_flag("--quiet", command.quiet, "No progress line");
  command.app = app;
}

MosaicParameters parameters_of(const MosaicCommand& command) {
  MosaicParameters p = command.parameters;
  if (!command.panel.empty()) p.panel = size_in("--panel", command.panel);
  if (!command.overlap.empty()) p.overlap = share_in("--overlap", command.overlap);
  p.air = panel_air(command.air);
  check(p);
  return p;
}

}  // namespace lull::lab
