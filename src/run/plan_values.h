#pragma once

#include <optional>
#include <string>
#include <vector>

#include "core/geometry.h"
#include "core/utc.h"
#include "sky/dispersion.h"
#include "sky/observer.h"
#include "sky/rotation_elements.h"

/// The values of `lull plan`, as the command line has them. Each parser throws UsageError, and each
/// text is read back by its parser.
namespace lull::run {

/// A filter, by what it lets through.
struct NamedBand {
  std::string name;
  sky::Band band;
};

/// Detail whose longitude the observer knows.
struct Storm {
  sky::Body body = sky::Body::jupiter;
  std::string name;
  sky::LongitudeSystem system = sky::LongitudeSystem::two;
  double longitude_deg = 0;
  std::optional<Utc> seen{};  ///< when it stood there
  double drift_deg_per_day = 0;

  /// Where it stands at a moment, if it goes on as it did.
  [[nodiscard]] double longitude_at(Utc moment) const;
};

/// Of colour sensors and of the near infrared; edges are common practice, no source.
[[nodiscard]] const std::vector<NamedBand>& default_bands();

/// "46.5,8.25,1650".
[[nodiscard]] std::optional<sky::Site> parse_site(const std::string& text);
[[nodiscard]] std::string site_option_text(const std::optional<sky::Site>& site);

/// "2026-11-30", within the years that sky/moment.h covers.
[[nodiscard]] std::string parse_date(const std::string& text);

/// "red:580-680".
[[nodiscard]] NamedBand parse_band(const std::string& text);
[[nodiscard]] std::string band_option_text(const NamedBand& named);

/// "jupiter:oval:2:62.5" or "jupiter:oval:2:62.5:2026-11-01:-0.03".
[[nodiscard]] Storm parse_storm(const std::string& text);
[[nodiscard]] std::string storm_option_text(const Storm& storm);

/// "1936x1216".
[[nodiscard]] std::optional<Size> parse_sensor(const std::string& text);
[[nodiscard]] std::string sensor_option_text(const std::optional<Size>& sensor);

[[nodiscard]] sky::Body body_of_word(const std::string& option, const std::string& word);

}  // namespace lull::run
