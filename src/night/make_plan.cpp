#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <map>
#include <set>
#include <tuple>

#include "files/name_text.h"
#include "night/matching.h"
#include "night/plan.h"
#include "profile/profile.h"

namespace lull::night {

namespace {

namespace fs = std::filesystem;

// Names that a night has for itself.
const std::set<std::string> kOwnNames = {"night"};

std::string without_pattern(std::string stem) {
  // Of a sequence: what stands before its number, as run/outputs.h names results.
  if (const std::size_t at = stem.find('%'); at != std::string::npos) stem.resize(at);
  while (!stem.empty() && (stem.back() == '_' || stem.back() == '-' || stem.back() == '.'))
    stem.pop_back();
  return stem.empty() ? "sequence" : stem;
}

/// Names of results that no two captures share.
class Names {
 public:
  std::string of(const Facts& facts) {
    const fs::path path(facts.name);
    const std::string stem = without_pattern(path.stem().string());
    std::string name = (path.parent_path() / stem).string();
    if (kOwnNames.contains(name)) name += "_capture";
    for (int i = 2; !taken_.insert(name).second; ++i)
      name = fmt::format("{}_{}", (path.parent_path() / stem).string(), i);
    return name;
  }

 private:
  std::set<std::string> taken_;
};

bool is_target(const std::string& word) {
  const auto& known = profile::target_words();
  return std::find(known.begin(), known.end(), word) != known.end();
}

void add_reasons(const Facts& facts, Picture& picture) {
  if (!facts.said.target.empty())
    picture.why.push_back("target " + facts.said.target + ": by its name");
  if (!facts.said.filter.empty())
    picture.why.push_back("filter " + facts.said.filter + ": by its name");
  if (!facts.note.empty()) picture.why.push_back(facts.note);
}

Picture picture_of(const Facts& facts, const std::vector<MasterGroup>& masters, Names& names) {
  Picture picture;
  picture.name = names.of(facts);
  picture.captures = {facts.found.path};
  picture.cost_bytes = static_cast<double>(facts.found.bytes);
  picture.need_bytes = facts.need_bytes;
  if (is_target(facts.said.target)) picture.object = facts.said.target;
  picture.filter = facts.said.filter;
  add_reasons(facts, picture);
  const Match dark = dark_for(facts, masters);
  const Match flat = flat_for(facts, masters);
  picture.dark = dark.name;
  picture.flat = flat.name;
  picture.why.push_back(dark.why);
  picture.why.push_back(flat.why);
  return picture;
}

// Flats get their darks, and masters that nothing uses are left out.
void settle_masters(std::vector<MasterGroup> groups, Plan& plan) {
  for (MasterGroup& group : groups) {
    if (group.master.kind != Kind::flat) continue;
    const Match dark = group.facts.said.exposure_s ? dark_for(group.facts, groups) : Match{};
    group.master.flat_dark = dark.name;
    if (!dark.name.empty()) group.master.why.push_back("its dark: " + dark.why);
  }
  std::set<std::string> used;
  for (const Picture& picture : plan.pictures) used.insert({picture.dark, picture.flat});
  for (const MasterGroup& group : groups) {
    if (used.contains(group.master.name)) used.insert(group.master.flat_dark);
  }
  for (MasterGroup& group : groups) {
    if (used.contains(group.master.name)) {
      plan.masters.push_back(std::move(group.master));
      continue;
    }
    for (const std::string& capture : group.master.captures)
      plan.left_out.push_back(
          {capture, fmt::format("a {} that fits no capture", kind_name(group.master.kind)), false});
  }
}

/// Pictures of one target, in the order of time.
using Sequence = std::vector<std::pair<const Facts*, std::string>>;

void add_colours(const std::string& target, const Sequence& sequence, Plan& plan) {
  std::vector<std::string> names;
  std::set<std::string> filters;
  const auto close = [&] {
    if (filters.contains("R") && filters.contains("G") && filters.contains("B")) {
      plan.sets.push_back(
          {"colours", names,
           fmt::format("{}: filters {} one after the other", target, fmt::join(filters, ", "))});
    }
    names.clear();
    filters.clear();
  };
  for (const auto& [facts, name] : sequence) {
    if (facts->said.filter.empty() || filters.contains(facts->said.filter)) close();
    if (facts->said.filter.empty()) continue;
    filters.insert(facts->said.filter);
    names.push_back(name);
  }
  close();
}

void add_repeats(const std::string& target, const Sequence& sequence, Plan& plan) {
  std::map<std::pair<std::string, std::string>, std::vector<std::string>> alike;
  for (const auto& [facts, name] : sequence)
    alike[{facts->said.filter, facts->said.panel}].push_back(name);
  for (const auto& [key, names] : alike) {
    if (names.size() < 2) continue;
    plan.sets.push_back({"repeats", names,
                         fmt::format("{}{}: the same target and filter again", target,
                                     key.first.empty() ? "" : " through " + key.first)});
  }
}

void add_panels(const std::string& target, const Sequence& sequence, Plan& plan) {
  std::map<std::string, std::string> panels;
  for (const auto& [facts, name] : sequence) {
    if (!facts->said.panel.empty()) panels.emplace(facts->said.panel, name);
  }
  if (panels.size() < 2) return;
  std::vector<std::string> names;
  for (const auto& [panel, name] : panels) names.push_back(name);
  plan.sets.push_back({"panels", names, fmt::format("{}: panels by their names", target)});
}

void add_sets(const std::vector<Facts>& captures, Plan& plan) {
  std::map<std::string, Sequence> targets;
  for (std::size_t i = 0; i < captures.size(); ++i) {
    if (!captures[i].said.target.empty())
      targets[captures[i].said.target].emplace_back(&captures[i], plan.pictures[i].name);
  }
  for (auto& [target, sequence] : targets) {
    std::stable_sort(sequence.begin(), sequence.end(), [](const auto& a, const auto& b) {
      return std::tie(a.first->said.date, a.first->when_s, a.second) <
             std::tie(b.first->said.date, b.first->when_s, b.second);
    });
    add_colours(target, sequence, plan);
    add_repeats(target, sequence, plan);
    add_panels(target, sequence, plan);
  }
}

// The later captures of a set of repeats go into the picture of the first.
void join_repeats(Plan& plan) {
  std::set<std::string> gone;
  for (const Set& set : plan.sets) {
    if (set.kind != "repeats") continue;
    const auto named = [&](const std::string& name) {
      return std::find_if(plan.pictures.begin(), plan.pictures.end(),
                          [&](const Picture& one) { return one.name == name; });
    };
    Picture& first = *named(set.pictures.front());
    for (std::size_t i = 1; i < set.pictures.size(); ++i) {
      const Picture& other = *named(set.pictures[i]);
      if (other.dark != first.dark || other.flat != first.flat) continue;
      first.captures.insert(first.captures.end(), other.captures.begin(), other.captures.end());
      first.cost_bytes += other.cost_bytes;
      gone.insert(other.name);
    }
    if (first.captures.size() > 1)
      first.why.push_back(fmt::format("{} captures joined: {}", first.captures.size(), set.why));
  }
  std::erase_if(plan.pictures, [&](const Picture& one) { return gone.contains(one.name); });
  std::erase_if(plan.sets, [&](const Set& set) {
    return std::any_of(set.pictures.begin(), set.pictures.end(),
                       [&](const std::string& name) { return gone.contains(name); });
  });
}

}  // namespace

std::string kind_name(Kind kind) {
  if (kind == Kind::dark) return "dark";
  return kind == Kind::flat ? "flat" : "light";
}

const Master* Plan::master(const std::string& name) const {
  const auto found = std::find_if(masters.begin(), masters.end(),
                                  [&](const Master& one) { return one.name == name; });
  return found == masters.end() ? nullptr : &*found;
}

Plan make_plan(std::vector<Facts> captures, const std::vector<Facts>& calibration, Join join) {
  Plan plan;
  std::vector<Facts> all = captures;
  all.insert(all.end(), calibration.begin(), calibration.end());
  std::sort(all.begin(), all.end(),
            [](const Facts& a, const Facts& b) { return a.found.path < b.found.path; });
  const std::vector<MasterGroup> masters = group_masters(all);
  for (const Facts& facts : captures) {
    if (!facts.problem.empty()) plan.left_out.push_back({facts.found.path, facts.problem, true});
  }
  std::erase_if(captures, [](const Facts& facts) {
    return facts.kind != Kind::light || !facts.problem.empty();
  });
  std::sort(captures.begin(), captures.end(),
            [](const Facts& a, const Facts& b) { return a.name < b.name; });
  Names names;
  for (const Facts& facts : captures) plan.pictures.push_back(picture_of(facts, masters, names));
  settle_masters(masters, plan);
  add_sets(captures, plan);
  if (join == Join::repeats) join_repeats(plan);
  return plan;
}

}  // namespace lull::night
