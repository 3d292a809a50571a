#include "run/share_notes.h"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "core/error.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

constexpr double kMostOfWidth = 0.25;

// "Moon, 2026-03-01 20:15:03 UTC, aperture 203 mm, details of 0.7″ are real, best 150 of 200
// frames", as far as it is known.
std::string made_from(const std::vector<files::Card>& cards) {
  std::vector<std::string> parts;
  if (const auto* object = find_card<std::string>(cards, "OBJECT")) {
    parts.push_back(*object);
    char& first = parts.back().front();
    first = static_cast<char>(std::toupper(static_cast<unsigned char>(first)));
  }
  if (const auto* begin = find_card<std::string>(cards, "DATE-OBS")) {
    std::string moment = begin->substr(0, 19);  // whole seconds
    std::replace(moment.begin(), moment.end(), 'T', ' ');
    parts.push_back(moment + " UTC");
  }
  if (const auto* aperture = find_card<double>(cards, "APERTURE"))
    parts.push_back(fmt::format("aperture {:.0f} mm", *aperture));
  if (const auto* finest = find_card<double>(cards, "RESOLAS")) {
    parts.push_back(fmt::format("details of {:.2g}″ are real", *finest));
  } else if (const auto* finest_px = find_card<double>(cards, "RESOL")) {
    parts.push_back(fmt::format("details of {:.2g} px are real", *finest_px));
  }
  const auto* kept = find_card<std::int64_t>(cards, "NKEPT");
  const auto* frames = find_card<std::int64_t>(cards, "NFRAMES");
  if (kept != nullptr && frames != nullptr)
    parts.push_back(fmt::format("best {} of {} frames", *kept, *frames));
  return fmt::format("{}", fmt::join(parts, ", "));
}

}  // namespace

draw::ScaleBar scale_bar(int width_px, double arcsec_per_px) {
  const bool known = arcsec_per_px > 0;
  const double unit = known ? arcsec_per_px : 1;
  const double most = kMostOfWidth * width_px * unit;
  const double power = std::pow(10.0, std::floor(std::log10(most)));
  const double length = power * (most >= 5 * power ? 5 : most >= 2 * power ? 2 : 1);
  return {static_cast<int>(std::lround(length / unit)),
          fmt::format("{:g}{}", length, known ? "″" : " px")};
}

draw::Annotation share_notes(const Look& look, const std::vector<files::Card>& cards, Size size) {
  draw::Annotation notes;
  notes.caption = look.caption == "auto" ? made_from(cards) : look.caption;
  if (look.caption == "auto" && notes.caption.empty()) {
    throw UsageError(
        "--caption auto: the file does not state how the picture was made; give a text instead");
  }
  if (look.scale_bar == ScaleBarChoice::drawn) {
    notes.bar =
        scale_bar(finish::posed_size(size, look.pose).width_px, arcsec_per_px(cards).value_or(0));
  }
  return notes;
}

}  // namespace lull::run
