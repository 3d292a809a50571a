#include "run/globe_stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/error.h"
#include "files/name_text.h"
#include "run/object.h"
#include "run/stack_header.h"
#include "sky/moment.h"

namespace lull::run {

namespace {

constexpr double kLeastNoise = 1e-6;  // halves that are the same would weigh without end

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

sky::Body derotated_body(const DerotateRequest& request, const std::vector<FinishInput>& inputs) {
  if (request.object != Object::unspecified) return derotated_body(request.object);
  for (const FinishInput& input : inputs) {
    const auto* word = find_card<std::string>(input.cards, "OBJECT");
    if (word != nullptr && *word != "auto")
      return derotated_body(value_of_word("--object", *word, object_words()));
  }
  throw UsageError("which planet is it? give --object, such as --object jupiter");
}

GlobeStack globe_stack(const std::string& path, FinishInput input, sky::Body body, Turning turning,
                       bool turned_about) {
  GlobeStack stack;
  stack.path = files::name_text(path);
  stack.input = std::move(input);
  stack.turned_about = turned_about;
  if (turned_about) turning.north_deg = turning.north_deg.value() + 180;
  const std::vector<files::Card>& cards = stack.input.cards;
  const Plane brightness = mean_plane(stack.input.picture.view().channels);
  stack.sight = globe_sight(stack.path, brightness.view(), body, moment_of_stack(stack.path, cards),
                            turning, arcsec_per_px(cards));
  stack.noise = std::max(noise_of(stack.input) / stack.sight.limb.brightness, kLeastNoise);
  return stack;
}

globe::GlobePicture globe_picture(const GlobeStack& stack, Utc moment, double brightness) {
  globe::GlobePicture picture{stack.sight.view(),
                              seconds_between(moment, stack.sight.moment),
                              1 / (stack.noise * stack.noise),
                              brightness / stack.sight.limb.brightness,
                              {},
                              false,
                              stack.sight.limb.spread()};
  for (const Plane& plane : stack.input.picture.channels) picture.planes.push_back(plane.view());
  for (const Plane& plane : stack.input.measured.noise) picture.planes.push_back(plane.view());
  return picture;
}

}  // namespace lull::run
