#include "night/matching.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

namespace lull::night {

namespace {

// Exposures are stated to two or three digits: common practice, no source.
constexpr double kSameExposure = 0.02;

enum class Fit { yes, unknown, no };

Fit fit_of(const std::optional<double>& a, const std::optional<double>& b) {
  if (!a || !b) return Fit::unknown;
  return std::abs(*a - *b) <= kSameExposure * std::max(*a, *b) ? Fit::yes : Fit::no;
}

// One that names a target is for that alone: a flat of the Sun was taken through its filter.
bool is_meant_for(const Facts& master, const Facts& capture) {
  return master.said.target.empty() || master.said.target == capture.said.target;
}

bool same_sensor(const Facts& master, const Facts& capture) {
  return master.size == capture.size && master.colour == capture.colour &&
         master.stored_bits == capture.stored_bits && is_meant_for(master, capture);
}

std::string exposure_text(double exposure_s) {
  if (exposure_s >= 1) return fmt::format("{:g}s", exposure_s);
  if (exposure_s >= 1e-3) return fmt::format("{:g}ms", std::round(exposure_s * 1e6) / 1e3);
  return fmt::format("{:g}us", std::round(exposure_s * 1e9) / 1e3);
}

std::string name_of(const Facts& facts) {
  std::string name = kind_name(facts.kind);
  if (!facts.said.target.empty()) name += "_" + facts.said.target;
  if (facts.kind == Kind::flat && !facts.said.filter.empty()) name += "_" + facts.said.filter;
  if (facts.said.exposure_s) name += "_" + exposure_text(*facts.said.exposure_s);
  if (facts.said.gain) name += fmt::format("_gain{:g}", *facts.said.gain);
  for (char& c : name) {
    if (c == '/') c = '_';
  }
  return name;
}

using Key = std::tuple<Kind, std::string, int, int, std::string, int>;

Key key_of(const Facts& facts) {
  return {facts.kind,           name_of(facts), facts.size.width_px,
          facts.size.height_px, facts.colour,   facts.stored_bits};
}

std::string listed_names(const std::vector<std::string>& names) {
  return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace

std::vector<MasterGroup> group_masters(const std::vector<Facts>& all) {
  std::map<Key, MasterGroup> groups;
  for (const Facts& facts : all) {
    if (facts.kind == Kind::light || !facts.problem.empty()) continue;
    MasterGroup& group = groups[key_of(facts)];
    if (group.master.captures.empty()) {
      group.facts = facts;
      group.master.kind = facts.kind;
      group.master.name = name_of(facts);
      group.master.why.push_back(fmt::format("a {} by its {}", kind_name(facts.kind),
                                             facts.kind_from.empty() ? "name" : facts.kind_from));
    }
    group.master.captures.push_back(facts.found.path);
  }
  std::vector<MasterGroup> out;
  std::map<std::string, int> taken;
  for (auto& [key, group] : groups) {
    // The same name for another size or mosaic.
    const int count = ++taken[group.master.name];
    if (count > 1) group.master.name += fmt::format("_{}", count);
    if (group.master.captures.size() > 1)
      group.master.why.push_back(fmt::format("{} captures that fit the same frames, combined",
                                             group.master.captures.size()));
    out.push_back(std::move(group));
  }
  return out;
}

Match dark_for(const Facts& capture, const std::vector<MasterGroup>& masters) {
  std::vector<std::string> other_exposure;
  std::vector<const MasterGroup*> sure;
  std::vector<const MasterGroup*> unsure;
  bool any = false;
  for (const MasterGroup& group : masters) {
    if (group.master.kind != Kind::dark) continue;
    any = true;
    if (!same_sensor(group.facts, capture)) continue;
    const Fit exposure = fit_of(group.facts.said.exposure_s, capture.said.exposure_s);
    const Fit gain = fit_of(group.facts.said.gain, capture.said.gain);
    if (exposure == Fit::no || gain == Fit::no) {
      other_exposure.push_back(group.master.name);
    } else if (exposure == Fit::yes) {
      sure.push_back(&group);
    } else {
      unsure.push_back(&group);
    }
  }
  if (!sure.empty())
    return {sure.front()->master.name,
            "same size, mosaic and exposure as " + sure.front()->master.name};
  if (unsure.size() == 1)
    return {unsure.front()->master.name,
            fmt::format("{} is the only dark of this size and mosaic; exposures are not all known",
                        unsure.front()->master.name)};
  if (unsure.size() > 1)
    return {{},
            fmt::format("no dark: {} darks are of this size, and exposures are not known; put "
                        "them into the names, such as exp10ms",
                        unsure.size())};
  if (!other_exposure.empty())
    return {{}, "no dark: of another exposure or gain: " + listed_names(other_exposure)};
  return {{}, any ? "no dark: none is of this size, mosaic and target" : "no dark: there are none"};
}

Match flat_for(const Facts& capture, const std::vector<MasterGroup>& masters) {
  std::vector<std::string> other_filter;
  std::vector<const MasterGroup*> fitting;
  bool any = false;
  for (const MasterGroup& group : masters) {
    if (group.master.kind != Kind::flat) continue;
    any = true;
    if (!same_sensor(group.facts, capture)) continue;
    if (group.facts.said.filter == capture.said.filter) {
      fitting.push_back(&group);
    } else {
      other_filter.push_back(group.master.name);
    }
  }
  if (!fitting.empty()) {
    const std::string& name = fitting.front()->master.name;
    return {name, capture.said.filter.empty()
                      ? fmt::format("same size and mosaic as {}, no filter named", name)
                      : fmt::format("same size, mosaic and filter as {}", name)};
  }
  if (!other_filter.empty())
    return {{}, "no flat: of another filter: " + listed_names(other_filter)};
  return {{}, any ? "no flat: none is of this size, mosaic and target" : "no flat: there are none"};
}

}  // namespace lull::night
