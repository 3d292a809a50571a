#include <fmt/format.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "files/name_text.h"
#include "night/matching.h"
#include "night/plan.h"
#include "night/sets.h"
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
  if (!facts.copy_of.empty()) {
    picture.why.push_back(
        fmt::format("of the same length as {}, and the same wherever looked at; left out if it is "
                    "the same to the last byte",
                    facts.copy_of));
  }
}

Picture picture_of(const Facts& facts, const std::vector<MasterGroup>& masters, Names& names) {
  Picture picture;
  picture.name = names.of(facts);
  picture.captures = {facts.found.path};
  picture.copy_of = facts.copy_of;
  // Most are copies: they come last, and take little.
  if (facts.copy_of.empty()) picture.cost_bytes = static_cast<double>(facts.found.bytes);
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

std::set<std::string> Plan::names() const {
  std::set<std::string> out;
  for (const Picture& one : pictures) out.insert(one.name);
  for (const Merge& one : merges) out.insert(one.name);
  return out;
}

std::vector<std::string> Merge::parts() const {
  std::vector<std::string> out = {red, green, blue};
  if (!luminance.empty()) out.push_back(luminance);
  return out;
}

Plan make_plan(std::vector<Facts> captures, const std::vector<Facts>& calibration, Join join,
               Merging merging) {
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
  const auto copies = std::stable_partition(captures.begin(), captures.end(),
                                            [](const Facts& one) { return one.copy_of.empty(); });
  const std::vector<Facts> alike(copies, captures.end());
  captures.erase(copies, captures.end());
  Names names;
  for (const Facts& facts : captures) plan.pictures.push_back(picture_of(facts, masters, names));
  add_sets(captures, join, merging, plan);
  for (const Facts& facts : alike) plan.pictures.push_back(picture_of(facts, masters, names));
  settle_masters(masters, plan);
  return plan;
}

}  // namespace lull::night
