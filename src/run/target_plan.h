#pragma once

#include <optional>
#include <string>
#include <vector>

#include "run/panel_plan.h"
#include "run/plan_request.h"
#include "run/recording_plan.h"
#include "sky/aspect.h"
#include "sky/moon.h"
#include "sky/night.h"
#include "sky/rings.h"
#include "sky/sun.h"
#include "sky/visibility.h"

namespace lull::run {

struct Meridian {
  sky::LongitudeSystem system = sky::LongitudeSystem::three;
  double longitude_deg = 0;
};

struct StormPassages {
  std::string name;
  Meridian stands{};          ///< at the best moment
  std::vector<Utc> passes{};  ///< over the middle of the disc, while it can be recorded
};

/// When and how one body is best recorded.
struct TargetPlan {
  sky::Body body = sky::Body::jupiter;
  sky::Interval span{};  ///< a night from noon to noon, or a day from midnight to midnight
  sky::Intervals up{};
  std::optional<Utc> transit{};
  sky::Intervals recordable{};
  double hours_above_20 = 0;
  double hours_above_30 = 0;
  std::optional<sky::Culmination> best{};  ///< none: it is not up while it can be recorded
  Utc described{};  ///< the moment that what follows describes: the best one, or the middle
  sky::Aspect aspect{};
  double elongation_deg = 0;
  double turning_deg_per_hour = 0;
  std::vector<Meridian> meridians{};
  std::optional<sky::Rings> rings{};
  std::optional<sky::MoonFace> moon{};
  std::optional<sky::SunFace> sun{};
  std::vector<StormPassages> storms{};
  std::vector<BandDispersion> dispersion{};
  std::optional<RecordingPlan> recording{};  ///< with the optics known
  std::optional<PanelPlan> panels{};         ///< where they are asked for

  /// How long a series may take that derotation brings together: the face turns by 60 degrees, so
  /// that what passes the middle at half-time is never more than 30 degrees from it (common
  /// practice, no source).
  [[nodiscard]] double series_minutes() const { return 60 * 60 / turning_deg_per_hour; }
};

/// Whether pictures of it can be brought to one moment by turning its globe: not the Sun and the
/// Moon, which keep their face for a session, nor Mercury and Venus, whose crescents are thin.
[[nodiscard]] bool is_derotated(sky::Body body);

/// The systems in which its longitudes are counted.
[[nodiscard]] std::vector<sky::LongitudeSystem> systems_of(sky::Body body);

/// @param span  of the night, or for the Sun of the day.
[[nodiscard]] TargetPlan plan_target(sky::Body body, const sky::Night& night,
                                     const PlanRequest& request);

}  // namespace lull::run
