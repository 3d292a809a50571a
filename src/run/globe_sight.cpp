#include "run/globe_sight.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/error.h"
#include "globe/orientation.h"
#include "globe/ring_fit.h"
#include "run/target_plan.h"
#include "sky/moment.h"

namespace lull::run {

namespace {

constexpr double kOtherSize = 0.05;  // of the radius: no error of a focal length is as large
constexpr double kPoorFit = 0.2;     // of the brightness

// " (Saturn would have 98.2 px)", of those that would have about this size on that day.
std::string others_of_size(const GlobeSight& sight, double arcsec_per_px) {
  std::string out;
  for (const sky::Body body : sky::kBodies) {
    if (body == sky::Body::sun || body == sky::Body::moon) continue;
    const double radius_px = 0.5 * aspect_at(body, sight.moment).equatorial_arcsec / arcsec_per_px;
    if (std::abs(sight.limb.place.radius_px / radius_px - 1) > kOtherSize) continue;
    out += fmt::format("{}{} would have {:.1f} px", out.empty() ? " (" : ", ",
                       sky::body_title(body), radius_px);
  }
  return out.empty() ? out : out + ")";
}

void check_size(const std::string& name, const GlobeSight& sight,
                std::optional<double> arcsec_per_px) {
  if (!arcsec_per_px || *arcsec_per_px <= 0) return;
  const double expected = 0.5 * sight.aspect.equatorial_arcsec / *arcsec_per_px;
  if (std::abs(sight.limb.place.radius_px / expected - 1) < kOtherSize) return;
  throw InputError(fmt::format(
      "'{}': the disc has a radius of {:.1f} px, but on {} it should have {:.1f} px at {:.3f} "
      "arcsec a pixel. Either it is another planet{}, the date is wrong (local time for UTC?), or "
      "focal length and pixel are",
      name, sight.limb.place.radius_px, iso8601(sight.moment, 0), expected, *arcsec_per_px,
      others_of_size(sight, *arcsec_per_px)));
}

void check_whole(const std::string& name, const GlobeSight& sight, Size size) {
  const globe::GlobePlace& place = sight.limb.place;
  const double room = std::min(
      {place.x_px, place.y_px, size.width_px - 1 - place.x_px, size.height_px - 1 - place.y_px});
  if (room >= sight.shape.axis_ratio * place.radius_px - 1) return;
  throw InputError(fmt::format(
      "'{}': the disc is cut by the edge of the picture, {:.0f} px from its middle with a radius "
      "of {:.0f} px; its limb cannot be measured",
      name, room, place.radius_px));
}

void check_rings(const std::string& name, const GlobeSight& sight) {
  if (sight.limb.by_rings || !globe::tell_place(sight.shape)) return;
  throw InputError(fmt::format(
      "'{}': no rings are found where those of Saturn lie on {}, open by {:.0f} degrees. Either it "
      "is another planet, the date is wrong, or north is on another side",
      name, iso8601(sight.moment, 0), std::abs(sight.aspect.below_observer.centric_latitude_deg)));
}

}  // namespace

sky::Body derotated_body(Object object) {
  const std::string word = word_of_value(object, object_words());
  if (const auto body = sky::body_of_name(word); body && is_derotated(*body)) return *body;
  if (object == Object::mercury || object == Object::venus)
    throw UsageError(
        "mercury and venus are not derotated: their crescents are thin, and they turn too slowly "
        "for it to matter in a night");
  throw UsageError(fmt::format(
      "'{}' is not derotated; --object takes mars, jupiter, saturn, uranus or neptune here", word));
}

sky::Aspect aspect_at(sky::Body body, Utc moment) {
  if (!sky::is_covered(moment))
    throw UsageError(
        fmt::format("{}: dates of the years 1950 to 2100 are possible", iso8601(moment, 0)));
  return sky::aspect_of(body, sky::Observer(moment));
}

globe::GlobePlace angles_of(const Turning& turning, const sky::Aspect& aspect) {
  globe::GlobePlace place;
  place.radius_px = 0;
  place.mirrored = turning.mirrored == Mirrored::yes;
  const globe::Orientation orientation{turning.north_deg.value() * sky::kDegree, place.mirrored};
  place.pole_clockwise_rad = orientation.clockwise(aspect.pole_deg);
  return place;
}

double turned_deg(sky::Body body, Utc from, Utc to) {
  return sky::longitude_deg_per_hour(body, sky::Observer(to)) * seconds_between(from, to) / 3600;
}

double face_moved_deg(sky::Body body, Utc from, Utc to) {
  return sky::turning_deg_per_hour(body, sky::Observer(to)) * seconds_between(from, to) / 3600;
}

GlobeSight globe_sight(const std::string& name, PlaneView brightness, sky::Body body, Utc moment,
                       const Turning& turning, std::optional<double> arcsec_per_px) {
  GlobeSight sight;
  sight.moment = moment;
  sight.aspect = aspect_at(body, moment);
  sight.shape = globe::shape_of(body, sight.aspect);
  const auto limb = globe::fit_limb(brightness, sight.shape, angles_of(turning, sight.aspect));
  if (!limb || limb->misfit > kPoorFit) throw no_limb(name);
  sight.limb = *limb;
  check_whole(name, sight, {brightness.width_px, brightness.height_px});
  check_rings(name, sight);
  check_size(name, sight, arcsec_per_px);
  return sight;
}

NothingUsable no_limb(const std::string& name) {
  return NothingUsable(fmt::format(
      "'{}': no limb of a whole disc on a dark sky is found; a planet of 10 px radius at least is "
      "needed",
      name));
}

void fit_with_radius(GlobeSight& sight, PlaneView brightness, double radius_px) {
  sight.limb.place.radius_px = radius_px;
  const auto limb =
      globe::fit_limb(brightness, sight.shape, sight.limb.place, globe::LimbSearch::centre);
  if (limb) sight.limb = *limb;
}

}  // namespace lull::run
