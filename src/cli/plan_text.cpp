#include <fmt/format.h>

#include <array>
#include <cmath>
#include <map>

#include "cli/texts.h"
#include "run/plan_outcome.h"
#include "sky/horizon.h"

namespace lull::cli {

namespace {

using run::PlanOutcome;
using run::TargetPlan;
using sky::Body;

/// Moments as the outcome's zone has them: "21:14", or "21:14 (22:14)" with the local time.
class Clock {
 public:
  explicit Clock(const sky::Zone& zone) : zone_(zone), utc_("") {}

  [[nodiscard]] std::string operator()(Utc moment) const {
    if (zone_.is_utc()) return utc_.clock_of(moment);
    return fmt::format("{} ({})", utc_.clock_of(moment), zone_.clock_of(moment));
  }

 private:
  const sky::Zone& zone_;
  sky::Zone utc_;
};

std::string row(const std::string& name, const std::string& words) {
  return fmt::format("{:<12}{}\n", name, words);
}

std::string roman(sky::LongitudeSystem system) {
  return system == sky::LongitudeSystem::one   ? "I"
         : system == sky::LongitudeSystem::two ? "II"
                                               : "III";
}

std::string direction(double azimuth_deg) {
  static constexpr std::array kNames = {"north", "north-east", "east", "south-east",
                                        "south", "south-west", "west", "north-west"};
  return kNames[static_cast<std::size_t>(std::lround(azimuth_deg / 45)) % kNames.size()];
}

std::string duration(double seconds) {
  if (seconds < 120) return fmt::format("{:.0f} s", seconds);
  if (seconds < 7200) return fmt::format("{:.0f} min", seconds / 60);
  return fmt::format("{:.0f} h", seconds / 3600);
}

std::string limb_name(double direction_deg) { return direction(direction_deg) + " limb"; }

std::string site_text(const sky::Site& site) {
  return fmt::format("{:.4g} {} {:.4g} {}, {:.0f} m", std::abs(site.latitude_deg),
                     site.latitude_deg < 0 ? "S" : "N", std::abs(site.longitude_deg),
                     site.longitude_deg < 0 ? "W" : "E", site.height_m);
}

std::string header(const PlanOutcome& outcome) {
  const std::string zone =
      outcome.zone.is_utc() ? "UTC" : fmt::format("UTC ({})", outcome.zone.name());
  return fmt::format("{}, {}, {}\n", outcome.date, site_text(outcome.site), zone);
}

std::string spans(const sky::Intervals& intervals, const Clock& clock) {
  std::string text;
  for (const sky::Interval& interval : intervals)
    text += fmt::format("{}{} to {}", text.empty() ? "" : ", ", clock(interval.from),
                        clock(interval.to));
  return text;
}

std::string recording_rule(Body body) {
  switch (body) {
    case Body::sun:
      return "";
    case Body::moon:
    case Body::mercury:
    case Body::venus:
      return ", Sun down";
    default:
      return ", Sun below -6 degrees *";
  }
}

// Rise, transit and set in order of time.
std::string passage_words(const TargetPlan& plan, const Clock& clock) {
  std::map<Utc, std::string> events;
  for (const sky::Interval& up : plan.up) {
    if (up.from > plan.span.from) events[up.from] = "rises";
    if (up.to < plan.span.to) events[up.to] = "sets";
  }
  if (plan.transit) events[*plan.transit] = "highest";
  std::string words;
  for (const auto& [at, what] : events)
    words += fmt::format("{}{} {}", words.empty() ? "" : ", ", what, clock(at));
  return words;
}

std::string when_rows(const TargetPlan& plan, const Clock& clock) {
  if (plan.up.empty()) return row("up", "not at all");
  std::string text = row("up", passage_words(plan, clock));
  if (!plan.best) return text + row("record", "not above the horizon with the Sun low enough *");
  text +=
      row("record", fmt::format("{}{}", spans(plan.recordable, clock), recording_rule(plan.body)));
  text +=
      row("best", fmt::format("{}: {:.1f} degrees in the {}, air mass {:.2f}", clock(plan.best->at),
                              plan.best->altitude_deg, direction(plan.best->azimuth_deg),
                              sky::air_mass(plan.best->altitude_deg)));
  return text + row("above", fmt::format("20 degrees for {:.1f} h, 30 degrees for {:.1f} h",
                                         plan.hours_above_20, plan.hours_above_30));
}

std::string size_rows(const TargetPlan& plan) {
  const sky::Aspect& aspect = plan.aspect;
  std::string size =
      fmt::format("{:.2f} x {:.2f} arcsec", aspect.equatorial_arcsec, aspect.polar_arcsec);
  if (plan.recording)
    size +=
        fmt::format(", {:.0f} x {:.0f} px", plan.recording->diameter_px, plan.recording->height_px);
  if (plan.body == Body::sun) return row("size", size);
  return row("size", size) +
         row("phase",
             fmt::format("{:.1f}% lit, {:.0f} degrees {} of the Sun", 100 * aspect.lit,
                         std::abs(plan.elongation_deg), plan.elongation_deg < 0 ? "west" : "east"));
}

std::string face_rows(const TargetPlan& plan) {
  if (plan.sun) {
    return row("face", fmt::format("P {:+.2f}, B0 {:+.2f}, L0 {:.2f} degrees, rotation {}",
                                   plan.sun->pole_deg, plan.sun->latitude_deg,
                                   plan.sun->longitude_deg, plan.sun->rotation));
  }
  if (plan.moon) {
    const sky::MoonFace& face = *plan.moon;
    return row("terminator",
               fmt::format("colongitude {:.1f}; sunrise {:+.1f}, sunset {:+.1f} degrees",
                           face.colongitude_deg, face.morning_terminator_deg,
                           face.evening_terminator_deg)) +
           row("libration", fmt::format("longitude {:+.1f}, latitude {:+.1f}: the {} is turned in",
                                        face.libration_longitude_deg, face.libration_latitude_deg,
                                        limb_name(face.libration_direction_deg())));
  }
  std::string middle;
  for (const run::Meridian& meridian : plan.meridians) {
    if (!middle.empty()) middle += ", ";
    if (plan.meridians.size() > 1) middle += roman(meridian.system) + " ";
    middle += fmt::format("{:.1f}", meridian.longitude_deg);
  }
  std::string text =
      row("middle", "longitude " + middle) +
      row("pole", fmt::format("north at {:.1f} degrees; latitude of the middle {:+.1f}",
                              plan.aspect.pole_deg, plan.aspect.below_observer.latitude_deg));
  if (plan.rings) {
    text +=
        row("rings", fmt::format("tilt {:+.1f}, Sun {:+.1f} degrees{}; {:.1f} x {:.1f} arcsec",
                                 plan.rings->tilt_deg, plan.rings->sun_tilt_deg,
                                 plan.rings->lit() ? "" : " (the dark side)",
                                 plan.rings->outer_major_arcsec, plan.rings->outer_minor_arcsec));
  }
  return text;
}

std::string storm_rows(const TargetPlan& plan, const Clock& clock) {
  std::string text;
  for (const run::StormPassages& storm : plan.storms) {
    std::string passes;
    for (const Utc at : storm.passes) passes += (passes.empty() ? "" : ", ") + clock(at);
    const std::string system =
        plan.meridians.size() > 1 ? fmt::format(" ({})", roman(storm.stands.system)) : "";
    text += row(
        "detail",
        fmt::format("{} at {:.1f}{}: {}", storm.name, storm.stands.longitude_deg, system,
                    passes.empty() ? "not in the middle tonight" : "in the middle at " + passes));
  }
  return text;
}

std::string sampling_row(const run::RecordingPlan& plan) {
  const std::string text =
      fmt::format("{:.3f} arcsec/px, lambda/D {:.2f} px ({:.0f} nm)", plan.scale_arcsec_per_px,
                  plan.px_per_lambda_over_d, plan.optics.wavelength_nm);
  if (plan.extender_least > 1)
    return row("sampling", text) + row("", fmt::format("an extender of {:.1f} to {:.1f} x suits *",
                                                       plan.extender_least, plan.extender_most));
  if (plan.extender_most < 1)
    return row("sampling", text) +
           row("", fmt::format("{:.1f} to {:.1f} x the focal length suits *", plan.extender_least,
                               plan.extender_most));
  return row("sampling", text + ": suits *");
}

std::string rotation_rows(const TargetPlan& plan) {
  std::string text;
  if (plan.recording) {
    for (const run::Smear& smear : plan.recording->smears)
      text += row(text.empty() ? "rotation" : "",
                  fmt::format("{}: half a pixel in {}, one in {}", smear.where,
                              duration(smear.half_px_s), duration(smear.one_px_s)));
  }
  if (!run::is_derotated(plan.body)) return text;
  return text +
         row("series", fmt::format("{} can be derotated *", duration(60 * plan.series_minutes())));
}

std::string light_row(const run::RecordingPlan& plan) {
  return row("light", fmt::format("{:.1f} mag/arcsec^2{}; gain: brightest part at 75% *",
                                  plan.surface_brightness_mag,
                                  plan.solar_filter ? " behind the filter" : ""));
}

// Of the filters: dispersion and exposures side by side, in 80 columns.
std::string filter_table(const TargetPlan& plan) {
  const bool recording = plan.recording.has_value();
  std::string text =
      fmt::format("{:<14} {:>8} {:>7} {:>7} {:>7}", "", "", "spread", "at 30", "corr.");
  if (recording) text += fmt::format(" {:>6} {:>6} {:>7}", "spread", "smear", "expose");
  text +=
      fmt::format("\n{:<14} {:>8} {:>7} {:>7} {:>7}", "filter", "nm", "arcsec", "arcsec", "arcsec");
  if (recording) text += fmt::format(" {:>6} {:>6} {:>7} {:>7}", "px", "s", "ms *", "frames*");
  text += "\n";
  for (std::size_t i = 0; i < plan.dispersion.size(); ++i) {
    const run::BandDispersion& air = plan.dispersion[i];
    text += fmt::format("{:<14} {:>8} {:>7.2f} {:>7.2f} {:>7.3f}", air.band.name,
                        fmt::format("{:.0f}-{:.0f}", air.band.band.from_nm, air.band.band.to_nm),
                        air.spread_arcsec, air.at_30_arcsec, air.corrected_arcsec);
    if (recording) {
      const run::BandExposure& light = plan.recording->exposures[i];
      text += fmt::format(" {:>6.1f} {:>6.0f} {:>7.2g} {:>7.0f}",
                          air.spread_arcsec / plan.recording->scale_arcsec_per_px,
                          light.half_detail_s, light.exposure_ms, light.frames);
    }
    text += "\n";
  }
  return text;
}

// Where to point, from the middle of the disc.
std::string panel_rows(const run::PanelPlan& plan, Body body) {
  std::string text = row(
      "panels", fmt::format("{} for the {}, {:.0f} x {:.0f} arcsec, {:.0f}% overlap *",
                            plan.panels.size(), body == Body::moon ? "lit part" : "disc",
                            plan.field.width_arcsec, plan.field.height_arcsec, 100 * plan.overlap));
  text += fmt::format("{:>8} {:>8} {:>8}  arcmin from the middle of the disc\n", "panel", "east",
                      "north");
  int number = 0;
  for (const sky::SkyPanel& panel : plan.panels)
    text += fmt::format("{:>8} {:>8.2f} {:>8.2f}{}\n", ++number, panel.middle.east_arcsec / 60,
                        panel.middle.north_arcsec / 60, panel.on_terminator ? "  terminator" : "");
  return text;
}

std::string heading(Body body) {
  return body == Body::sun    ? "The Sun"
         : body == Body::moon ? "The Moon"
                              : std::string(sky::body_title(body));
}

std::string one_target(const PlanOutcome& outcome, const Clock& clock) {
  const TargetPlan& plan = outcome.targets.front();
  std::string text = fmt::format("{}, {}", heading(plan.body), header(outcome));
  if (!outcome.caution.empty()) text += fmt::format("CAUTION: {}\n", outcome.caution);
  text += when_rows(plan, clock) + size_rows(plan) + face_rows(plan) + storm_rows(plan, clock);
  if (plan.recording) text += sampling_row(*plan.recording);
  text += rotation_rows(plan);
  if (plan.recording) text += light_row(*plan.recording);
  if (!plan.dispersion.empty()) text += filter_table(plan);
  if (plan.panels) text += panel_rows(*plan.panels, plan.body);
  return text;
}

std::string all_targets(const PlanOutcome& outcome, const Clock& clock) {
  std::string text = fmt::format("Tonight, {}", header(outcome));
  if (!outcome.caution.empty()) text += fmt::format("CAUTION: {}\n", outcome.caution);
  text += row("Sun down", outcome.sun_up.empty() ? "all the time"
                          : outcome.sun_up.size() == 2
                              ? fmt::format("{} to {}", clock(outcome.sun_up.front().to),
                                            clock(outcome.sun_up.back().from))
                              : "not at all");
  text += row("dark", outcome.dark.empty() ? "not at all" : spans(outcome.dark, clock));
  text += fmt::format("{:<9} {:>13} {:>8} {:>6} {:>6} {:>7} {:>6} {:>9}\n", "target", "highest",
                      "altitude", "h > 20", "h > 30", "arcsec", "% lit", "from Sun");
  for (const TargetPlan& plan : outcome.targets) {
    text += fmt::format("{:<9} ", sky::body_name(plan.body));
    text += plan.best
                ? fmt::format("{:>13} {:>8.1f}", clock(plan.best->at), plan.best->altitude_deg)
                : fmt::format("{:>13} {:>8}", "-", "-");
    text += fmt::format(" {:>6.1f} {:>6.1f} {:>7.1f}", plan.hours_above_20, plan.hours_above_30,
                        plan.aspect.equatorial_arcsec);
    text += plan.body == Body::sun
                ? std::string("\n")
                : fmt::format(" {:>6.1f} {:>9}\n", 100 * plan.aspect.lit,
                              fmt::format("{:.0f} {}", std::abs(plan.elongation_deg),
                                          plan.elongation_deg < 0 ? "west" : "east"));
  }
  return text;
}

}  // namespace

std::string plan_text(const PlanOutcome& outcome) {
  const Clock clock(outcome.zone);
  std::string text =
      outcome.targets.size() == 1 ? one_target(outcome, clock) : all_targets(outcome, clock);
  text += "* common practice, no source: 'lull help plan'\n";
  for (const std::string& note : outcome.notes) text += fmt::format("note: {}\n", note);
  for (const std::string& path : outcome.written) text += fmt::format("wrote {}\n", path);
  return text;
}

}  // namespace lull::cli
