#include "run/panel_plan.h"

#include <fmt/format.h>

#include <cmath>
#include <string>

#include "core/error.h"
#include "draw/svg_plot.h"

namespace lull::run {

namespace {

using draw::Plot;
using draw::PlotMark;
using draw::PlotPoint;
using sky::Body;
using sky::SkyOffset;

constexpr double kMostPanels = 500;  // more are no plan for a night
constexpr double kArcsecPerArcmin = 60;
constexpr std::size_t kPointsOfAnArc = 120;

sky::FrameField field_of(const PlanRequest& request) {
  const auto optics = request.instrument.optics();
  if (!optics || !request.sensor)
    throw UsageError(
        "--panels: the field of the camera is not known; give --aperture, --focal-length, --pixel "
        "and --sensor WIDTHxHEIGHT, or a profile that holds them");
  const double scale = optics->scale_arcsec_per_px();
  return {scale * request.sensor->width_px, scale * request.sensor->height_px, request.north_deg};
}

// East is on the left: x grows towards west.
PlotPoint on_map(const SkyOffset& at) {
  return {-at.east_arcsec / kArcsecPerArcmin, at.north_arcsec / kArcsecPerArcmin};
}

std::vector<PlotPoint> on_map(const std::vector<SkyOffset>& places) {
  std::vector<PlotPoint> out;
  out.reserve(places.size());
  for (const SkyOffset& at : places) out.push_back(on_map(at));
  return out;
}

std::vector<PlotPoint> frames_on_map(const PanelPlan& plan) {
  std::vector<PlotPoint> out;
  out.reserve(6 * plan.panels.size());
  for (const sky::SkyPanel& panel : plan.panels) {
    const auto corners = sky::corners_of(panel, plan.field);
    draw::add_polygon(on_map({corners.begin(), corners.end()}), out);
  }
  return out;
}

void set_axes(const std::vector<PlotPoint>& frames, Plot& map) {
  double half_width = 0;
  double half_height = 0;
  for (const PlotPoint& at : frames) {
    half_width = std::fmax(half_width, std::abs(at.x));  // lines break where it is not a number
    half_height = std::fmax(half_height, std::abs(at.y));
  }
  map.x.label = "west of the middle, arcmin";
  map.y.label = "north of the middle, arcmin";
  draw::set_equal_scales(map, {0, 0}, half_width, half_height);
}

}  // namespace

PanelPlan plan_panels(Body body, const sky::Aspect& aspect, const PlanRequest& request) {
  if (body != Body::moon && body != Body::sun)
    throw UsageError(fmt::format("--panels: {} fits into one frame; panels are for moon and sun",
                                 sky::body_name(body)));
  PanelPlan plan;
  plan.field = field_of(request);
  plan.overlap = request.overlap_percent / 100;
  plan.disc.radius_arcsec = 0.5 * aspect.equatorial_arcsec;
  if (body == Body::moon) {
    plan.disc.phase_deg = aspect.phase_deg;
    plan.disc.bright_limb_deg = aspect.bright_limb_deg;
  }
  const double most = sky::most_panels(plan.disc, plan.field, plan.overlap);
  if (most > kMostPanels)
    throw UsageError(fmt::format(
        "--panels: some {:.0f} frames of {:.0f} x {:.0f} arcsec would be needed; use a shorter "
        "focal length, a larger sensor or less --overlap",
        most, plan.field.width_arcsec, plan.field.height_arcsec));
  plan.panels = sky::panels_over(plan.disc, plan.field, plan.overlap);
  return plan;
}

Plot panel_map(const PanelPlan& plan) {
  Plot map;
  map.title = "Panels, north at the top, east on the left";
  map.series.push_back(
      {"limb in sunlight", on_map(sky::lit_limb_of(plan.disc, kPointsOfAnArc)), PlotMark::line});
  if (plan.disc.phase_deg > 0)
    map.series.push_back(
        {"terminator", on_map(sky::terminator_of(plan.disc, kPointsOfAnArc)), PlotMark::dashed});
  std::vector<PlotPoint> frames = frames_on_map(plan);
  set_axes(frames, map);
  map.series.push_back({"frames", std::move(frames), PlotMark::reference});
  std::vector<SkyOffset> middles;
  middles.reserve(plan.panels.size());
  for (const sky::SkyPanel& panel : plan.panels) {
    middles.push_back(panel.middle);
    map.labels.push_back({on_map(panel.middle), std::to_string(middles.size())});
  }
  map.series.push_back({"order", on_map(middles), PlotMark::dotted});
  return map;
}

}  // namespace lull::run
