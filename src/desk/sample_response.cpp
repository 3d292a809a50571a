#include "desk/sample_response.h"

#include <fmt/format.h>

#include "desk/frame_picture.h"
#include "desk/problem.h"

namespace lull::desk {

namespace {

constexpr std::int64_t kMostSamples = 64'000'000;

}  // namespace

void check_samples(Size size, std::size_t channels) {
  if (size.area_px() * static_cast<std::int64_t>(channels) <= kMostSamples) return;
  throw Problem(
      400, fmt::format("{} x {} px are too many for one answer", size.width_px, size.height_px),
      "give a smaller area, or a width");
}

void add_size(Response& out, Size size, std::size_t channels) {
  out.type = "application/octet-stream";
  out.headers.emplace_back("X-Width", std::to_string(size.width_px));
  out.headers.emplace_back("X-Height", std::to_string(size.height_px));
  out.headers.emplace_back("X-Channels", std::to_string(channels));
}

Response sample_response(const files::PictureView& picture, const SampleForm& form) {
  Response out;
  out.body = sample_bytes(picture, form.encoding);
  add_size(out, picture.size(), picture.channels.size());
  const bool linear = form.transfer == files::Transfer::linear;
  out.headers.insert(out.headers.end(),
                     {{"X-Black", fmt::format("{}", form.encoding.black)},
                      {"X-White", fmt::format("{}", form.encoding.white)},
                      {"X-Show-Black", fmt::format("{}", form.levels.shown_as_black())},
                      {"X-Show-White", fmt::format("{}", form.levels.white)},
                      {"X-Transfer", linear ? "linear" : "screen"},
                      {"X-Reduction", std::to_string(form.reduction)}});
  return out;
}

}  // namespace lull::desk
