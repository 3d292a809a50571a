#include "run/facing.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include "core/error.h"
#include "globe/rough_place.h"
#include "run/globe_sight.h"

namespace lull::run {

namespace {

constexpr double kLeastMotion_px = 1.5;  // of the disc's middle, over all pictures
constexpr double kOneSide_deg = 60;
constexpr double kDarkening = 0.85;  // about right for all planets

// Pictures in the order of time, in small pixels.
struct Series {
  std::vector<std::size_t> order{};
  std::vector<globe::DatedFace> faces{};
  Utc first{};
  double radius_px = 0;
};

double motion_px(const std::vector<globe::DatedFace>& faces, sky::Body body, const Series& series) {
  const Utc last = after(series.first, faces.back().face.later_s - faces.front().face.later_s);
  return std::abs(face_moved_deg(body, series.first, last)) * sky::kDegree * series.radius_px;
}

Series series_of(const std::vector<DatedPicture>& pictures, sky::Body body,
                 const Turning& turning) {
  Series series;
  series.order.resize(pictures.size());
  std::iota(series.order.begin(), series.order.end(), std::size_t{0});
  std::stable_sort(series.order.begin(), series.order.end(), [&](std::size_t a, std::size_t b) {
    return seconds_between(pictures[a].moment, pictures[b].moment) > 0;
  });
  series.first = pictures[series.order.front()].moment;
  series.faces.reserve(pictures.size());
  for (const std::size_t i : series.order) {
    const DatedPicture& picture = pictures[i];
    const sky::Aspect aspect = aspect_at(body, picture.moment);
    const globe::GlobeShape shape = globe::shape_of(body, aspect);
    const bool known = turning.north_deg.has_value();
    const auto place = globe::rough_place(picture.light, shape,
                                          known ? angles_of(turning, aspect) : globe::GlobePlace{},
                                          known ? globe::Angles::known : globe::Angles::unknown);
    if (!place) throw no_limb(picture.name);
    series.radius_px = std::max(series.radius_px, place->radius_px);
    series.faces.push_back({globe::face_of(picture.light, shape, *place,
                                           seconds_between(series.first, picture.moment)),
                            aspect.pole_deg});
  }
  return series;
}

globe::Orientation orientation_of(const Turning& turning) {
  return {turning.north_deg.value() * sky::kDegree, turning.mirrored == Mirrored::yes};
}

// From one picture to the next: the camera is turned once or twice in a night. Where north is not
// known the pictures are compared as they are, since the globe turns little in between.
void turn_about(Series& series, const std::optional<globe::Orientation>& orientation,
                sky::Body body, Facing& facing) {
  const auto placed = [&](const globe::DatedFace& dated, const globe::DatedFace& first) {
    if (orientation) return dated.placed(*orientation);
    globe::Face face = dated.placed({});
    face.shape = first.face.shape;
    face.later_s = 0;
    return face;
  };
  for (std::size_t i = 1; i < series.faces.size(); ++i) {
    const globe::DatedFace& before = series.faces[i - 1];
    globe::DatedFace& dated = series.faces[i];
    dated.turned_about = before.turned_about;
    const globe::FaceComparison comparison(placed(before, before), body, kDarkening);
    if (comparison.is_upside_down(placed(dated, before))) dated.turned_about = !dated.turned_about;
    facing.turned_about[series.order[i]] = dated.turned_about;
  }
}

void find_north(const Series& series, sky::Body body, Facing& facing) {
  const std::string help =
      "give --north DEGREES: where is north in the pictures, clockwise from "
      "the top? 0 is up. With the motor off the planet drifts towards west, "
      "and north is 90 degrees counter-clockwise of it, in a mirrored picture "
      "clockwise";
  const std::vector<globe::DatedFace> faces = of_one_side(series.faces, body, series.first);
  const double motion = motion_px(faces, body, series);
  if (motion < kLeastMotion_px)
    throw UsageError(fmt::format(
        "--north DEGREES is missing, and cannot be found: {} turns by {:.1f} px in these pictures, "
        "and 1.5 px are needed. Please {}",
        sky::body_title(body), motion, help));
  const globe::FoundOrientation found = globe::find_orientation(faces, body);
  if (!found.is_certain())
    throw UsageError(
        fmt::format("--north DEGREES is missing, and cannot be found: no detail tells which way {} "
                    "turns (likeness {:.2f}, and {:.2f} the other way). "
                    "Please {}",
                    sky::body_title(body), found.likeness, found.of_opposite, help));
  double north_deg = found.orientation.north_clockwise_rad / sky::kDegree;
  north_deg -= 360 * std::floor(north_deg / 360 + 0.5);
  facing.found = true;
  facing.turning.north_deg = north_deg;
  facing.turning.mirrored = found.orientation.mirrored ? Mirrored::yes : Mirrored::no;
  if (!found.tells_mirrors())
    facing.note = fmt::format(
        "nothing tells whether the pictures are mirrored: then north would be at {:.0f}",
        north_deg + (north_deg > 0 ? -180 : 180));
}

}  // namespace

Facing facing_of(const std::vector<DatedPicture>& pictures, const Turning& turning,
                 sky::Body body) {
  Facing facing;
  facing.turning = turning;
  facing.turned_about.assign(pictures.size(), false);
  if (pictures.size() < 2) {
    require_north(turning);
    return facing;
  }
  Series series = series_of(pictures, body, turning);
  if (turning.north_deg) {
    turn_about(series, orientation_of(turning), body, facing);
  } else {
    turn_about(series, std::nullopt, body, facing);
    find_north(series, body, facing);
  }
  return facing;
}

std::vector<globe::DatedFace> of_one_side(const std::vector<globe::DatedFace>& faces,
                                          sky::Body body, Utc first) {
  const double deg_per_s = std::abs(face_moved_deg(body, first, after(first, 3600))) / 3600;
  std::size_t begin = 0;
  std::size_t most = 0;
  for (std::size_t i = 0; i < faces.size(); ++i) {
    std::size_t n = 0;
    while (i + n < faces.size() &&
           (faces[i + n].face.later_s - faces[i].face.later_s) * deg_per_s <= kOneSide_deg)
      ++n;
    if (n > most) {
      begin = i;
      most = n;
    }
  }
  const auto from = faces.begin() + static_cast<std::ptrdiff_t>(begin);
  return {from, from + static_cast<std::ptrdiff_t>(most)};
}

void check_sense(const std::vector<globe::DatedFace>& faces, double motion_px, sky::Body body,
                 const Turning& turning) {
  if (faces.size() < 2 || motion_px < kLeastMotion_px) return;
  const globe::Orientation asked = orientation_of(turning);
  const auto compared = globe::Compared::features;
  const double as_asked = globe::likeness_of_series(faces, asked, body, compared);
  const double opposite = globe::likeness_of_series(faces, asked.opposite(), body, compared);
  const double mirrored = globe::likeness_of_series(faces, asked.mirror_image(), body, compared);
  if (!globe::is_clearly_more(std::max(opposite, mirrored), as_asked)) return;
  const std::string mirror = turning.mirrored == Mirrored::yes
                                 ? "the pictures are not mirrored: leave out --mirrored"
                                 : "the pictures are mirrored: give --mirrored";
  throw UsageError(fmt::format(
      "--north {:g}: detail moves against the turn of {} (likeness {:.2f}; {:.2f} if mirrored, "
      "{:.2f} "
      "with north on the other side). Either {}, or north is at {:g}; without --north it is looked "
      "for",
      *turning.north_deg, sky::body_title(body), as_asked, mirrored, opposite, mirror,
      *turning.north_deg + (*turning.north_deg > 0 ? -180 : 180)));
}

}  // namespace lull::run
