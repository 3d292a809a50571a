#include "judge/mosaic_report.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

namespace lull::judge {

namespace {

double turn_deg(const MosaicVerdict& verdict) {
  return std::remainder(verdict.pose.turn_rad * 180 / std::numbers::pi, 360);
}

nlohmann::ordered_json tiles_json(const MosaicVerdict& verdict) {
  nlohmann::ordered_json tiles = nlohmann::ordered_json::array();
  for (const MosaicTile& tile : verdict.tiles) {
    tiles.push_back({{"corner_px", {tile.corner.x, tile.corner.y}},
                     {"lit", tile.lit},
                     {"psnr_db", tile.psnr_db},
                     {"light_percent", tile.light_percent},
                     {"shift_px", tile.shift_px}});
  }
  return tiles;
}

}  // namespace

nlohmann::ordered_json to_json(const MosaicVerdict& verdict) {
  return {{"scale", verdict.pose.scale},
          {"turn_deg", turn_deg(verdict)},
          {"covered", verdict.covered},
          {"patches", verdict.patches},
          {"patches_not_found", verdict.not_found},
          {"distortion_rms_px", verdict.distortion_rms_px},
          {"distortion_rms_3000_px", verdict.distortion_3000.rms_px},
          {"distortion_worst_3000_px", verdict.distortion_3000.worst_px},
          {"psnr_db", verdict.psnr_db},
          {"gain", verdict.gain},
          {"offset", verdict.offset},
          {"border_pieces", verdict.borders.pieces},
          {"border_pieces_not_told", verdict.borders.not_told},
          {"level_step_rms_percent", verdict.borders.level_rms},
          {"level_step_p99_percent", verdict.borders.level_p99},
          {"level_step_worst_percent", verdict.borders.level_worst},
          {"slope_step_rms_percent", verdict.borders.slope_rms},
          {"slope_step_worst_percent", verdict.borders.slope_worst},
          {"beside_step_rms_percent", verdict.beside.level_rms},
          {"beside_step_p99_percent", verdict.beside.level_p99},
          {"beside_step_worst_percent", verdict.beside.level_worst},
          {"anywhere_step_rms_percent", verdict.anywhere.level_rms},
          {"anywhere_step_p99_percent", verdict.anywhere.level_p99},
          {"anywhere_step_worst_percent", verdict.anywhere.level_worst},
          {"tiles", tiles_json(verdict)}};
}

std::string to_text(const MosaicVerdict& verdict) {
  double darkest = 0;
  double lightest = 0;
  for (const MosaicTile& tile : verdict.tiles) {
    if (tile.lit < 0.5) continue;
    darkest = std::min(darkest, tile.light_percent);
    lightest = std::max(lightest, tile.light_percent);
  }
  std::string text = fmt::format(
      "place: scale {:.5f}, turned by {:.3f} degrees; {:.2f}% of what the panels show is there\n"
      "distortion: {:.3f} px rms over the whole; in windows of 3000 px {:.3f} px rms, {:.3f} px in "
      "the worst; {} patches, {} not found again\n",
      verdict.pose.scale, turn_deg(verdict), 100 * verdict.covered, verdict.distortion_rms_px,
      verdict.distortion_3000.rms_px, verdict.distortion_3000.worst_px, verdict.patches,
      verdict.not_found);
  text += fmt::format(
      "light: PSNR {:.2f} dB without distortion; tiles of 512 px from {:+.2f}% to {:+.2f}%\n"
      "steps at the borders of panels: level {:.3f}% rms, {:.3f}% at most; slope {:.3f}% in 100 px "
      "rms, {:.3f}% at most; {} pieces, {} at a limb not told\n"
      "beside the borders, where no seam is: level {:.3f}% rms, {:.3f}% at most\n",
      verdict.psnr_db, darkest, lightest, verdict.borders.level_rms, verdict.borders.level_worst,
      verdict.borders.slope_rms, verdict.borders.slope_worst, verdict.borders.pieces,
      verdict.borders.not_told, verdict.beside.level_rms, verdict.beside.level_worst);
  text += fmt::format("steps anywhere: {:.3f}% rms, 99% below {:.3f}%, {:.3f}% at most\n",
                      verdict.anywhere.level_rms, verdict.anywhere.level_p99,
                      verdict.anywhere.level_worst);
  return text;
}

}  // namespace lull::judge
