#include "sky/panels.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <utility>

#include "sky/vector.h"

namespace lull::sky {

namespace {

// Of the outline of the lit part: on the Moon they lie one arcsecond apart.
constexpr std::size_t kOutline = 3000;

/// A place in the picture, arcsec: x right, y down.
struct Place {
  double x = 0;
  double y = 0;
};

/// Between the sky and a picture of it, in which east is to the left of north.
class Turn {
 public:
  explicit Turn(double north_deg)
      : sin_(std::sin(north_deg * kDegree)), cos_(std::cos(north_deg * kDegree)) {}

  [[nodiscard]] Place to_picture(const SkyOffset& at) const {
    return {-at.east_arcsec * cos_ + at.north_arcsec * sin_,
            -at.east_arcsec * sin_ - at.north_arcsec * cos_};
  }

  [[nodiscard]] SkyOffset to_sky(const Place& at) const {
    return {-at.x * cos_ - at.y * sin_, at.x * sin_ - at.y * cos_};
  }

 private:
  double sin_;
  double cos_;
};

/// Axes of the light: towards the bright limb, and along the line of the terminator's ends, north
/// first.
struct LightAxes {
  explicit LightAxes(double bright_limb_deg)
      : sin(std::sin(bright_limb_deg * kDegree)), cos(std::cos(bright_limb_deg * kDegree)) {
    const bool is_north = sin > 0 || (sin == 0 && cos < 0);
    along_sign = is_north ? 1 : -1;
  }

  [[nodiscard]] double towards(const SkyOffset& at) const {
    return at.east_arcsec * sin + at.north_arcsec * cos;
  }

  [[nodiscard]] double along(const SkyOffset& at) const {
    return along_sign * (-at.east_arcsec * cos + at.north_arcsec * sin);
  }

  [[nodiscard]] SkyOffset place(double towards, double along) const {
    const double signed_along = along_sign * along;
    return {towards * sin - signed_along * cos, towards * cos + signed_along * sin};
  }

  double sin;
  double cos;
  double along_sign;
};

// Half an ellipse on the axis of the terminator's ends, from the northern one.
// @param height  of its middle towards the bright limb, in radii.
std::vector<SkyOffset> arc_of(const LitDisc& disc, double height, std::size_t points) {
  const LightAxes axes(disc.bright_limb_deg);
  std::vector<SkyOffset> out;
  out.reserve(points);
  for (std::size_t i = 0; i < points; ++i) {
    const double angle =
        std::numbers::pi * static_cast<double>(i) / static_cast<double>(points - 1);
    out.push_back(axes.place(disc.radius_arcsec * height * std::sin(angle),
                             disc.radius_arcsec * std::cos(angle)));
  }
  return out;
}

std::vector<SkyOffset> outline_of(const LitDisc& disc) {
  std::vector<SkyOffset> out = lit_limb_of(disc, kOutline);
  const std::vector<SkyOffset> terminator = terminator_of(disc, kOutline);
  out.insert(out.end(), terminator.begin(), terminator.end());
  return out;
}

struct Span {
  double low = std::numeric_limits<double>::infinity();
  double high = -std::numeric_limits<double>::infinity();

  void add(double value) {
    low = std::min(low, value);
    high = std::max(high, value);
  }

  [[nodiscard]] double length() const { return std::max(high - low, 0.0); }
};

double count_over(double length, double side, double overlap) {
  constexpr double kRounding = 1e-9;
  return 1 + std::max(0.0, std::ceil((length - side) / (side * (1 - overlap)) - kRounding));
}

// Middles of frames over a span, with just this overlap.
std::vector<double> middles_over(const Span& span, double side, double overlap) {
  const auto count = static_cast<std::size_t>(count_over(span.length(), side, overlap));
  const double step = side * (1 - overlap);
  const double first = 0.5 * (span.low + span.high) - 0.5 * step * static_cast<double>(count - 1);
  std::vector<double> out(count);
  for (std::size_t i = 0; i < count; ++i) out[i] = first + step * static_cast<double>(i);
  return out;
}

/// The lit part in a picture, and how frames lie over it.
class Cover {
 public:
  Cover(const LitDisc& disc, const FrameField& field, double overlap)
      : disc_(disc),
        turn_(field.north_deg),
        half_({0.5 * field.width_arcsec, 0.5 * field.height_arcsec}),
        overlap_(overlap),
        spacing_(std::numbers::pi * disc.radius_arcsec / static_cast<double>(kOutline - 1)) {
    for (const SkyOffset& at : outline_of(disc)) outline_.push_back(turn_.to_picture(at));
    if (disc.phase_deg == 0) return;
    for (const SkyOffset& at : terminator_of(disc, kOutline))
      terminator_.push_back(turn_.to_picture(at));
  }

  [[nodiscard]] std::vector<SkyPanel> panels() const {
    const std::vector<Place> rows = in_rows(&Place::x, &Place::y);
    const std::vector<Place> columns = in_rows(&Place::y, &Place::x);
    std::vector<SkyPanel> out;
    for (const Place& at : columns.size() < rows.size() ? columns : rows)
      out.push_back({turn_.to_sky(at), holds_any(at, terminator_)});
    return out;
  }

 private:
  // Rows along one axis, each as long as the lit part is within it.
  [[nodiscard]] std::vector<Place> in_rows(double Place::*along, double Place::*across) const {
    Span all;
    for (const Place& at : outline_) all.add(at.*across);
    std::vector<Place> out;
    for (const double row : middles_over(all, 2 * half_.*across, overlap_)) {
      Span within;
      for (const Place& at : outline_) {
        // With the part of the outline up to its next point.
        if (std::abs(at.*across - row) <= half_.*across + spacing_) within.add(at.*along);
      }
      for (const double middle : middles_over(within, 2 * half_.*along, overlap_)) {
        Place place;
        place.*along = middle;
        place.*across = row;
        if (shows_light(place)) out.push_back(place);
      }
    }
    return out;
  }

  [[nodiscard]] bool holds_any(const Place& middle, const std::vector<Place>& places) const {
    return std::any_of(places.begin(), places.end(), [&](const Place& at) {
      return std::abs(at.x - middle.x) <= half_.x && std::abs(at.y - middle.y) <= half_.y;
    });
  }

  // It holds a part of the outline, or lies within.
  [[nodiscard]] bool shows_light(const Place& middle) const {
    return holds_any(middle, outline_) || is_lit(disc_, turn_.to_sky(middle));
  }

  const LitDisc& disc_;
  Turn turn_;
  Place half_;
  double overlap_;
  double spacing_;  ///< of the points of the outline
  std::vector<Place> outline_;
  std::vector<Place> terminator_;
};

double distance(const SkyPanel& a, const SkyPanel& b) {
  return std::hypot(a.middle.east_arcsec - b.middle.east_arcsec,
                    a.middle.north_arcsec - b.middle.north_arcsec);
}

// What follows is each time the nearest of those that are left.
void follow_nearest(std::vector<SkyPanel>& panels, std::size_t from) {
  for (std::size_t i = std::max<std::size_t>(from, 1); i + 1 < panels.size(); ++i) {
    const auto first = panels.begin() + static_cast<std::ptrdiff_t>(i);
    const auto nearest =
        std::min_element(first, panels.end(), [&](const SkyPanel& a, const SkyPanel& b) {
          constexpr double kAlike_arcsec = 1e-6;  // of two as near, the one that comes first
          return distance(*(first - 1), a) < distance(*(first - 1), b) - kAlike_arcsec;
        });
    std::rotate(first, nearest, nearest + 1);
  }
}

}  // namespace

std::vector<SkyPanel> panels_over(const LitDisc& disc, const FrameField& field, double overlap) {
  std::vector<SkyPanel> panels = Cover(disc, field, overlap).panels();
  const LightAxes axes(disc.bright_limb_deg);
  const auto rest = std::stable_partition(panels.begin(), panels.end(),
                                          [](const SkyPanel& one) { return one.on_terminator; });
  std::stable_sort(panels.begin(), rest, [&](const SkyPanel& a, const SkyPanel& b) {
    return axes.along(a.middle) > axes.along(b.middle);
  });
  follow_nearest(panels, static_cast<std::size_t>(rest - panels.begin()));
  return panels;
}

double most_panels(const LitDisc& disc, const FrameField& field, double overlap) {
  const double diameter = 2 * disc.radius_arcsec;
  return count_over(diameter, field.width_arcsec, overlap) *
         count_over(diameter, field.height_arcsec, overlap);
}

std::vector<SkyOffset> terminator_of(const LitDisc& disc, std::size_t points) {
  if (disc.phase_deg == 0) return {};
  return arc_of(disc, -std::cos(disc.phase_deg * kDegree), points);
}

std::vector<SkyOffset> lit_limb_of(const LitDisc& disc, std::size_t points) {
  std::vector<SkyOffset> out = arc_of(disc, 1, points);
  if (disc.phase_deg > 0) return out;
  const std::vector<SkyOffset> other = arc_of(disc, -1, points);
  out.insert(out.end(), other.rbegin(), other.rend());
  return out;
}

bool is_lit(const LitDisc& disc, const SkyOffset& place) {
  const LightAxes axes(disc.bright_limb_deg);
  const double along = axes.along(place) / disc.radius_arcsec;
  const double towards = axes.towards(place) / disc.radius_arcsec;
  if (along * along + towards * towards > 1) return false;
  return towards >= -std::cos(disc.phase_deg * kDegree) * std::sqrt(1 - along * along);
}

std::array<SkyOffset, 4> corners_of(const SkyPanel& panel, const FrameField& field) {
  const Turn turn(field.north_deg);
  const Place middle = turn.to_picture(panel.middle);
  const double x = 0.5 * field.width_arcsec;
  const double y = 0.5 * field.height_arcsec;
  return {turn.to_sky({middle.x - x, middle.y - y}), turn.to_sky({middle.x + x, middle.y - y}),
          turn.to_sky({middle.x + x, middle.y + y}), turn.to_sky({middle.x - x, middle.y + y})};
}

}  // namespace lull::sky
