#include "run/plan_values.h"

#include <fmt/format.h>

#include <vector>

#include "run/option_kinds.h"
#include "sky/moment.h"

namespace lull::run {

namespace {

std::vector<std::string> parted(const std::string& text, char separator) {
  std::vector<std::string> parts(1);
  for (const char c : text) {
    if (c == separator) {
      parts.emplace_back();
    } else {
      parts.back() += c;
    }
  }
  return parts;
}

sky::LongitudeSystem system_of(sky::Body body, const std::string& word, const std::string& text) {
  if (word == "3") return sky::LongitudeSystem::three;
  if (word != "1" && word != "2")
    throw invalid_value("--storm", text, "a system of longitudes 1, 2 or 3");
  if (body != sky::Body::jupiter)
    throw invalid_value("--storm", text,
                        fmt::format("system 3, the only one of {}", sky::body_title(body)));
  return word == "1" ? sky::LongitudeSystem::one : sky::LongitudeSystem::two;
}

}  // namespace

double Storm::longitude_at(Utc moment) const {
  if (!seen) return longitude_deg;
  const double days = seconds_between(*seen, moment) / 86'400;
  return sky::full_turn(longitude_deg + drift_deg_per_day * days);
}

const std::vector<NamedBand>& default_bands() {
  static const std::vector<NamedBand> bands = {{"all light", {400, 700}},
                                               {"red", {600, 700}},
                                               {"green", {500, 600}},
                                               {"blue", {400, 500}},
                                               {"near infrared", {700, 900}}};
  return bands;
}

std::optional<sky::Site> parse_site(const std::string& text) {
  constexpr double kLowest_m = -500;
  constexpr double kHighest_m = 9000;
  const std::vector<std::string> parts = parted(text, ',');
  if (parts.size() != 2 && parts.size() != 3)
    throw invalid_value("--site", text, "LAT,LON or LAT,LON,HEIGHT, such as 46.5,8.25,1650");
  sky::Site site;
  site.latitude_deg = number_within("--site, latitude", parts[0], {-90, 90, "degrees"});
  site.longitude_deg = number_within("--site, longitude", parts[1], {-180, 180, "degrees"});
  if (parts.size() == 3)
    site.height_m = number_within("--site, height", parts[2], {kLowest_m, kHighest_m, "m"});
  return site;
}

std::string site_option_text(const std::optional<sky::Site>& site) {
  if (!site) return {};
  return fmt::format("{},{},{}", site->latitude_deg, site->longitude_deg, site->height_m);
}

std::string parse_date(const std::string& text) {
  const std::optional<Utc> date = parse_iso8601(text);
  if (!date || text.find('T') != std::string::npos || !sky::is_covered(*date))
    throw invalid_value("--date", text, "a date of the years 1950 to 2100, such as 2026-11-30");
  return text;
}

NamedBand parse_band(const std::string& text) {
  const std::size_t colon = text.rfind(':');
  const std::vector<std::string> edges =
      parted(colon == std::string::npos ? "" : text.substr(colon + 1), '-');
  if (colon == 0 || edges.size() != 2)
    throw invalid_value("--band", text, "NAME:FROM-TO in nm, such as red:580-680");
  const NumberRange range{200, 2000, "nm"};
  const NamedBand named{text.substr(0, colon),
                        {number_within("--band, lower edge", edges[0], range),
                         number_within("--band, upper edge", edges[1], range)}};
  if (named.band.from_nm >= named.band.to_nm)
    throw invalid_value("--band", text, "a lower edge below the upper one");
  return named;
}

std::string band_option_text(const NamedBand& named) {
  return fmt::format("{}:{}-{}", named.name, named.band.from_nm, named.band.to_nm);
}

Storm parse_storm(const std::string& text) {
  const std::vector<std::string> parts = parted(text, ':');
  if (parts.size() != 4 && parts.size() != 6)
    throw invalid_value("--storm", text,
                        "TARGET:NAME:SYSTEM:LONGITUDE, and with a drift :DATE:DEGREES-A-DAY, such "
                        "as jupiter:oval:2:62.5:2026-11-01:-0.03");
  Storm storm;
  storm.body = body_of_word("--storm", parts[0]);
  storm.name = parts[1];
  storm.system = system_of(storm.body, parts[2], text);
  storm.longitude_deg = number_within("--storm, longitude", parts[3], {-360, 360, "degrees"});
  if (parts.size() == 4) return storm;
  storm.seen = parse_iso8601(parse_date(parts[4]));
  storm.drift_deg_per_day = number_within("--storm, drift", parts[5], {-100, 100, "degrees a day"});
  return storm;
}

std::string storm_option_text(const Storm& storm) {
  std::string text = fmt::format("{}:{}:{}:{}", sky::body_name(storm.body), storm.name,
                                 number_of(storm.system), storm.longitude_deg);
  if (storm.seen)
    text += fmt::format(":{}:{}", iso8601(*storm.seen, 0).substr(0, 10), storm.drift_deg_per_day);
  return text;
}

std::optional<Size> parse_sensor(const std::string& text) {
  const std::vector<std::string> parts = parted(text, 'x');
  if (parts.size() != 2)
    throw invalid_value("--sensor", text, "WIDTHxHEIGHT in px, such as 1936x1216");
  const auto side = [](const char* what, const std::string& part) {
    constexpr int kLeast_px = 16;
    constexpr int kMost_px = 65'536;
    return static_cast<int>(whole_number_within(what, part, kLeast_px, kMost_px));
  };
  return Size{side("--sensor, width", parts[0]), side("--sensor, height", parts[1])};
}

std::string sensor_option_text(const std::optional<Size>& sensor) {
  return sensor ? fmt::format("{}x{}", sensor->width_px, sensor->height_px) : std::string();
}

sky::Body body_of_word(const std::string& option, const std::string& word) {
  Words<sky::Body> words;
  for (const sky::Body body : sky::kBodies)
    words.emplace_back(body, std::string(sky::body_name(body)));
  return value_of_word(option, word, words);
}

}  // namespace lull::run
