#include "run/piecewise_facts.h"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

namespace lull::run {

std::string PiecewiseFacts::text() const {
  std::string out = fmt::format(
      "{} of {:.1f} s {} brought to {} UTC, longitude of the middle {:.1f}; {} turns by {:.2f} px "
      "in a piece, and by {:.1f} px in the capture",
      pieces.size() == 1 ? "one piece" : fmt::format("{} pieces", pieces.size()), piece_s,
      pieces.size() == 1 ? "was" : "were", iso8601(moment, 1), central_meridian_deg,
      sky::body_title(body), smear_px, whole_smear_px);
  if (north_found)
    out += fmt::format("; north was found at {:.0f} degrees{}", north_deg,
                       mirrored ? ", mirrored" : "");
  if (!note.empty()) out += "; " + note;
  if (!left_out.empty()) out += fmt::format("; {} left out: {}", left_out.size(), left_out.front());
  return out;
}

nlohmann::json to_json(const PiecewiseFacts& facts) {
  nlohmann::json pieces = nlohmann::json::array();
  for (const StackedPiece& piece : facts.pieces)
    pieces.push_back({{"utc", iso8601(piece.moment) + "Z"},
                      {"frames", piece.frames},
                      {"x_px", piece.x_px},
                      {"y_px", piece.y_px},
                      {"turned_deg", piece.turned_deg}});
  const globe::GlobePlace& place = facts.limb.place;
  return {{"object", sky::body_name(facts.body)},
          {"utc", iso8601(facts.moment) + "Z"},
          {"central_meridian_deg", facts.central_meridian_deg},
          {"north_deg", facts.north_deg},
          {"north_found", facts.north_found},
          {"mirrored", facts.mirrored},
          {"note", facts.note},
          {"x_px", place.x_px},
          {"y_px", place.y_px},
          {"radius_px", place.radius_px},
          {"darkening", facts.darkening},
          {"piece_s", facts.piece_s},
          {"smear_px", facts.smear_px},
          {"whole_smear_px", facts.whole_smear_px},
          {"pieces", pieces},
          {"left_out", facts.left_out}};
}

}  // namespace lull::run
