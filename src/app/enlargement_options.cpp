#include "app/enlargement_options.h"

#include <fmt/format.h>

#include <charconv>
#include <cmath>

#include "app/choices.h"
#include "core/error.h"
#include "stack/colour_frame.h"

namespace lull::app {

namespace {

constexpr double kUsualPixfrac = 0.7;  // bench/measured_apart.md
constexpr double kLeastPixfrac = 0.1;
constexpr double kBytesMono = 150;    // a pixel of the picture, measured: 142
constexpr double kBytesColour = 220;  // 211
constexpr double kMiB = 1 << 20;

double parse_pixfrac(const std::string& text) {
  if (text == "auto") return kUsualPixfrac;
  double value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end || !(value >= kLeastPixfrac && value <= 1)) {
    throw UsageError(
        fmt::format("--pixfrac {}: use auto or the side of a drop, from {} to 1 pixel, such as {}",
                    text, kLeastPixfrac, kUsualPixfrac));
  }
  return value;
}

}  // namespace

stack::Enlargement parse_enlargement(const std::string& scale, const std::string& pixfrac) {
  stack::Enlargement out{1, parse_pixfrac(pixfrac)};
  if (scale == "1.5") {
    out.scale = 1.5;
  } else if (scale == "2" || scale == "3") {
    out.scale = scale == "2" ? 2 : 3;
  } else if (scale != "1") {
    throw no_such_choice("--scale", scale, {"1", "1.5", "2", "3"});
  } else if (pixfrac != "auto") {
    throw UsageError(fmt::format(
        "--pixfrac {} is for enlarged stacks; add --scale 1.5, 2 or 3, or leave it out", pixfrac));
  }
  return out;
}

void check_enlargement(const stack::Enlargement& enlargement, const capture::CaptureInfo& info,
                       std::size_t memory_bytes) {
  if (enlargement.scale <= 1) return;
  const double width_px = std::floor(info.size.width_px * enlargement.scale);
  const double height_px = std::floor(info.size.height_px * enlargement.scale);
  const double needed =
      width_px * height_px * (stack::has_colour(info) ? kBytesColour : kBytesMono);
  if (needed <= static_cast<double>(memory_bytes)) return;
  throw UsageError(fmt::format(
      "--scale {}: a picture of {:.0f} x {:.0f} px takes about {:.0f} MB of memory, and {:.0f} MB "
      "are allowed; use a smaller scale, or --memory {:.0f}M if the machine has that",
      enlargement.scale, width_px, height_px, needed / kMiB,
      static_cast<double>(memory_bytes) / kMiB, std::ceil(needed / kMiB / 100) * 100));
}

}  // namespace lull::app
