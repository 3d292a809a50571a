#include <fmt/format.h>

#include <cmath>
#include <limits>

#include "draw/svg_plot.h"
#include "run/plan_outcome.h"
#include "sky/horizon.h"

namespace lull::run {

namespace {

using draw::Plot;
using draw::PlotMark;
using draw::PlotPoint;
using sky::Body;

constexpr double kNowhere = std::numeric_limits<double>::quiet_NaN();

/// Hours of UTC from a midnight: within a night some are negative.
class HoursOfUtc {
 public:
  explicit HoursOfUtc(Utc midnight) : midnight_(midnight) {}

  [[nodiscard]] double of(Utc moment) const { return seconds_between(midnight_, moment) / 3600; }

  [[nodiscard]] std::string label() const {
    return fmt::format("hours of UTC from {} 00:00", iso8601(midnight_, 0).substr(0, 10));
  }

 private:
  Utc midnight_;
};

// The last midnight of UTC up to a moment.
Utc midnight_before(Utc moment) { return parse_iso8601(iso8601(moment, 0).substr(0, 10)).value(); }

std::vector<PlotPoint> altitude_points(Body body, const sky::Night& night,
                                       const HoursOfUtc& hours) {
  std::vector<PlotPoint> points;
  for (const sky::Observer& observer : night.observers()) {
    const double altitude = sky::horizontal(body, observer).altitude_deg;
    points.push_back({hours.of(observer.moment().utc), altitude});
  }
  return points;
}

std::string capitalised(std::string_view title) {
  std::string text(title);
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 32);
  return text;
}

Plot altitude_plot(const PlanOutcome& outcome, const sky::Night& night, const HoursOfUtc& hours) {
  Plot plot;
  plot.title = fmt::format("Altitude, {}", outcome.date);
  for (const TargetPlan& target : outcome.targets)
    plot.series.push_back(
        {capitalised(sky::body_title(target.body)), altitude_points(target.body, night, hours)});
  if (outcome.targets.size() == 1) {
    const TargetPlan& only = outcome.targets.front();
    if (only.body != Body::sun)
      plot.series.push_back(
          {"The Sun", altitude_points(Body::sun, night, hours), PlotMark::dashed});
    if (only.body != Body::moon)
      plot.series.push_back(
          {"The Moon", altitude_points(Body::moon, night, hours), PlotMark::dotted});
    if (only.best) plot.vertical_lines.push_back({hours.of(only.best->at), "highest"});
  }
  const double from = hours.of(night.span().from);
  plot.series.push_back({"30 degrees", {{from, 30}, {from + 24, 30}}, PlotMark::reference});
  plot.x = {hours.label(), draw::PlotScale::linear, draw::PlotRange{from, from + 24}};
  plot.y = {"altitude, degrees", draw::PlotScale::linear, draw::PlotRange{0, 90}};
  return plot;
}

std::string system_name(Body body, sky::LongitudeSystem system) {
  if (body != Body::jupiter) return "middle of the disc";
  return system == sky::LongitudeSystem::one   ? "System I"
         : system == sky::LongitudeSystem::two ? "System II"
                                               : "System III";
}

// Lines of the longitude in the middle of the disc; they break where it passes 360 degrees.
Plot meridian_plot(const TargetPlan& target, const sky::Night& night, const HoursOfUtc& hours) {
  Plot plot;
  plot.title = fmt::format("Longitude of the middle of {}", sky::body_title(target.body));
  for (const sky::LongitudeSystem system : systems_of(target.body)) {
    std::vector<PlotPoint> points;
    for (const sky::Observer& observer : night.observers()) {
      const double longitude = sky::central_meridian_deg(target.body, observer, system);
      const double x = hours.of(observer.moment().utc);
      if (!points.empty() && std::abs(points.back().y - longitude) > 180)
        points.push_back({x, kNowhere});
      points.push_back({x, longitude});
    }
    plot.series.push_back({system_name(target.body, system), std::move(points)});
  }
  for (const StormPassages& storm : target.storms) {
    for (const Utc at : storm.passes) plot.vertical_lines.push_back({hours.of(at), storm.name});
  }
  const double from = hours.of(night.span().from);
  plot.x = {hours.label(), draw::PlotScale::linear, draw::PlotRange{from, from + 24}};
  plot.y = {"longitude, degrees", draw::PlotScale::linear, draw::PlotRange{0, 360}};
  return plot;
}

Plot dispersion_plot(const TargetPlan& target, const sky::Site& site) {
  Plot plot;
  plot.title = "Dispersion between the edges of filters";
  for (const BandDispersion& band : target.dispersion) {
    std::vector<PlotPoint> points;
    for (int altitude = 15; altitude <= 90; ++altitude)
      points.push_back(
          {static_cast<double>(altitude),
           sky::band_dispersion_arcsec(band.band.band, altitude, sky::air_at(site.height_m))});
    plot.series.push_back({band.band.name, std::move(points)});
  }
  if (target.best) plot.vertical_lines.push_back({target.best->altitude_deg, "highest"});
  plot.x = {"altitude, degrees", draw::PlotScale::linear, draw::PlotRange{15, 90}};
  plot.y = {.label = "arcsec"};
  return plot;
}

}  // namespace

std::string plan_plot(const PlanOutcome& outcome) {
  const bool one = outcome.targets.size() == 1;
  const TargetPlan& first = outcome.targets.front();
  const bool day = one && first.body == Body::sun;
  const sky::Interval span = one ? first.span : outcome.night;
  const sky::Night night(outcome.site, span);
  // The midnight nearest to the middle of a night; that before the middle of a day.
  const HoursOfUtc hours(midnight_before(after(span.from, day ? 43'200 : 86'400)));
  std::vector<Plot> plots = {altitude_plot(outcome, night, hours)};
  if (one) {
    plots.push_back(meridian_plot(first, night, hours));
    if (!first.dispersion.empty()) plots.push_back(dispersion_plot(first, outcome.site));
    if (first.panels) plots.push_back(panel_map(*first.panels));
  }
  return draw::svg_plots(plots);
}

}  // namespace lull::run
