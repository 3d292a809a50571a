#include "run/globe_stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/error.h"
#include "files/name_text.h"
#include "run/stack_header.h"
#include "run/target_plan.h"
#include "sky/moment.h"

namespace lull::run {

namespace {

constexpr double kOtherSize = 0.05;   // of the radius: no error of a focal length is as large
constexpr double kPoorFit = 0.2;      // of the brightness
constexpr double kLeastNoise = 1e-6;  // likewise: halves that are the same would weigh without end

sky::Body body_of(const std::string& word) {
  for (const sky::Body body : sky::kBodies) {
    if (sky::body_name(body) == word && is_derotated(body)) return body;
  }
  if (word == "mercury" || word == "venus")
    throw UsageError(
        "mercury and venus are not derotated: their crescents are thin, and they turn too slowly "
        "for it to matter in a night");
  if (word == "saturn")
    throw UsageError("saturn is not derotated: its rings hide parts of the globe, and do not turn");
  throw UsageError(fmt::format(
      "'{}' is not derotated; --object takes mars, jupiter, uranus or neptune here", word));
}

Utc moment_of_stack(const std::string& path, const std::vector<files::Card>& cards) {
  for (const char* key : {"DATE-AVG", "DATE-OBS"}) {
    const auto moment = moment_in(cards, key);
    if (moment && sky::is_covered(*moment)) return *moment;
  }
  throw InputError(fmt::format(
      "'{}' has no date (cards DATE-AVG, DATE-OBS): without it nobody knows how far the globe has "
      "turned. `lull stack` writes it where the capture states when it was recorded",
      path));
}

void check_size(const GlobeStack& stack) {
  const std::vector<files::Card>& cards = stack.input.cards;
  const auto* scale = find_card<double>(cards, "PIXSCALE");
  if (scale == nullptr || *scale <= 0) return;
  const double expected = 0.5 * stack.aspect.equatorial_arcsec / *scale;
  if (std::abs(stack.limb.place.radius_px / expected - 1) < kOtherSize) return;
  throw InputError(fmt::format(
      "'{}': the disc has a radius of {:.1f} px, but on {} it should have {:.1f} px at {:.3f} "
      "arcsec a pixel. Either it is another planet, the date is wrong (local time for UTC?), or "
      "focal length and pixel are",
      stack.path, stack.limb.place.radius_px, iso8601(stack.moment, 0), expected, *scale));
}

void check_whole(const GlobeStack& stack) {
  const globe::GlobePlace& place = stack.limb.place;
  const Size size = stack.input.picture.size();
  const double room = std::min(
      {place.x_px, place.y_px, size.width_px - 1 - place.x_px, size.height_px - 1 - place.y_px});
  if (room >= stack.shape.axis_ratio * place.radius_px - 1) return;
  throw InputError(fmt::format(
      "'{}': the disc is cut by the edge of the picture, {:.0f} px from its middle with a radius "
      "of {:.0f} px; its limb cannot be measured",
      stack.path, room, place.radius_px));
}

double noise_of(const FinishInput& input) {
  std::vector<PlaneView> planes;
  for (const Plane& plane : input.measured.noise) planes.push_back(plane.view());
  const Plane noise = mean_plane(planes);
  double sum = 0;
  for (int y = 0; y < noise.height(); ++y) {
    for (int x = 0; x < noise.width(); ++x)
      sum += static_cast<double>(noise.row(y)[x]) * static_cast<double>(noise.row(y)[x]);
  }
  return std::sqrt(sum / (static_cast<double>(noise.width()) * noise.height()));
}

}  // namespace

sky::Body derotated_body(const DerotateRequest& request, const std::vector<FinishInput>& inputs) {
  if (request.object != Object::unspecified)
    return body_of(word_of_value(request.object, object_words()));
  for (const FinishInput& input : inputs) {
    const auto* word = find_card<std::string>(input.cards, "OBJECT");
    if (word != nullptr && *word != "auto") return body_of(*word);
  }
  throw UsageError("which planet is it? give --object, such as --object jupiter");
}

GlobeStack globe_stack(const std::string& path, FinishInput input, sky::Body body,
                       const DerotateRequest& request) {
  GlobeStack stack;
  stack.path = files::name_text(path);
  stack.input = std::move(input);
  stack.moment = moment_of_stack(stack.path, stack.input.cards);
  stack.aspect = sky::aspect_of(body, sky::Observer(stack.moment));
  stack.shape = globe::shape_of(body, stack.aspect);
  globe::GlobePlace start;
  start.radius_px = 0;
  start.mirrored = request.mirrored == Mirrored::yes;
  // Position angles grow to the left of north, in a mirrored picture to its right.
  const double side = start.mirrored ? 1 : -1;
  start.pole_clockwise_rad =
      (request.north_deg.value() + side * stack.aspect.pole_deg) * sky::kDegree;
  const Plane brightness = mean_plane(stack.input.picture.view().channels);
  const auto limb = globe::fit_limb(brightness.view(), stack.shape, start);
  if (!limb || limb->misfit > kPoorFit)
    throw NothingUsable(
        fmt::format("'{}': no limb of a whole disc on a dark sky is found; a planet of 10 px "
                    "radius at least is "
                    "needed",
                    stack.path));
  stack.limb = *limb;
  check_whole(stack);
  check_size(stack);
  stack.noise = std::max(noise_of(stack.input) / stack.limb.brightness, kLeastNoise);
  return stack;
}

}  // namespace lull::run
