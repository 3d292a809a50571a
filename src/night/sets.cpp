#include "night/sets.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <map>
#include <optional>
#include <set>
#include <tuple>
#include <utility>

#include "night/words.h"

namespace lull::night {

namespace {

// Filters that belong together follow each other in minutes: common practice, no source.
constexpr std::int64_t kLongestSet_s = 3600;

/// A picture, and what is known of its capture.
struct Member {
  const Facts* facts;
  std::string name;
};

/// Pictures of one target, in the order of time.
using Sequence = std::vector<Member>;

std::vector<std::string> names_of(const Sequence& members) {
  std::vector<std::string> out;
  out.reserve(members.size());
  for (const Member& member : members) out.push_back(member.name);
  return out;
}

// The last capture through that filter; none where there is no such one.
const Member* through(const Sequence& members, const std::string& filter) {
  const auto found = std::find_if(members.rbegin(), members.rend(), [&](const Member& one) {
    return one.facts->said.filter == filter;
  });
  return found == members.rend() ? nullptr : &*found;
}

bool has_colours(const Sequence& members) {
  return through(members, "R") && through(members, "G") && through(members, "B");
}

// Of captures that have all colours since the last one: those that lie closest together, one
// through each filter. The last of each colour; of luminance the nearest to the middle of them.
Sequence one_of_each(const Sequence& members) {
  const auto [first, last] =
      std::minmax({through(members, "R")->facts->when_s, through(members, "G")->facts->when_s,
                   through(members, "B")->facts->when_s});
  const auto from_middle = [middle_twice = first + last](const Member& one) {
    return std::abs(2 * one.facts->when_s - middle_twice);
  };
  const Member* luminance = nullptr;
  for (const Member& one : members) {
    const bool is_nearer = luminance == nullptr || from_middle(one) < from_middle(*luminance);
    if (one.facts->said.filter == "L" && is_nearer) luminance = &one;
  }
  Sequence out;
  out.reserve(members.size());
  for (const Member& one : members) {
    const std::string& filter = one.facts->said.filter;
    if (&one == (filter == "L" ? luminance : through(members, filter))) out.push_back(one);
  }
  return out;
}

// The word for the filter becomes that for all, in the file's name or its nearest folder:
// "mars/R_001" gives "mars/RGB_001".
std::optional<std::string> with_word(const std::string& name, const std::string& word,
                                     const std::string& colours) {
  for (std::size_t at = name.rfind(word); !word.empty() && at != std::string::npos;
       at = at == 0 ? std::string::npos : name.rfind(word, at - 1)) {
    const std::size_t end = at + word.size();
    const bool is_word = (at == 0 || words_of(name.substr(at - 1, 1)).empty()) &&
                         (end == name.size() || words_of(name.substr(end, 1)).empty());
    if (is_word) return name.substr(0, at) + colours + name.substr(end);
  }
  return std::nullopt;
}

std::string name_of_merge(const Member& first, const std::string& colours, const Plan& plan) {
  const std::string name = with_word(first.name, first.facts->said.filter_word, colours)
                               .value_or(first.name + "_" + colours);
  const std::set<std::string> taken = plan.names();
  if (!taken.contains(name)) return name;
  int number = 2;
  while (taken.contains(fmt::format("{}_{}", name, number))) ++number;
  return fmt::format("{}_{}", name, number);
}

std::string object_of(const Plan& plan, const std::string& picture) {
  return std::find_if(plan.pictures.begin(), plan.pictures.end(),
                      [&](const Picture& one) { return one.name == picture; })
      ->object;
}

void add_merge(const Sequence& members, const std::string& why, Plan& plan) {
  Merge merge;
  merge.red = through(members, "R")->name;
  merge.green = through(members, "G")->name;
  merge.blue = through(members, "B")->name;
  if (const Member* luminance = through(members, "L")) merge.luminance = luminance->name;
  merge.name =
      name_of_merge(*through(members, "R"), merge.luminance.empty() ? "RGB" : "LRGB", plan);
  merge.object = object_of(plan, merge.green);
  merge.why.push_back(why);
  plan.merges.push_back(std::move(merge));
}

void add_colour_set(const std::string& target, const Sequence& members, Merging merging,
                    Plan& plan) {
  std::set<std::string> filters;
  for (const Member& member : members) filters.insert(member.facts->said.filter);
  std::string why =
      fmt::format("{}: filters {} one after the other", target, fmt::join(filters, ", "));
  if (merging == Merging::colours) {
    add_merge(members, why, plan);
    why += "; merged as " + plan.merges.back().name;
  }
  plan.sets.push_back({"colours", names_of(members), why});
}

// Others may lie between two captures through one filter while a colour is missing: L R L G L B
// belong together. The same filter twice in a row begins anew: these are repeated captures.
void add_colours(const std::string& target, const Sequence& sequence, Merging merging, Plan& plan) {
  Sequence members;
  const auto close = [&] {
    if (has_colours(members)) add_colour_set(target, members, merging, plan);
    members.clear();
  };
  for (const Member& member : sequence) {
    const NameFacts& said = member.facts->said;
    const bool is_again =
        through(members, said.filter) != nullptr &&
        (has_colours(members) || members.back().facts->said.filter == said.filter);
    const bool is_other_night = !members.empty() && said.date != members.front().facts->said.date;
    if (said.filter.empty() || is_again || is_other_night) close();
    const auto is_long_ago = [&](const Member& one) {
      return member.facts->when_s - one.facts->when_s > kLongestSet_s;
    };
    if (has_colours(members) && is_long_ago(members.front())) close();
    std::erase_if(members, is_long_ago);
    if (said.filter.empty()) continue;
    const bool had_colours = has_colours(members);
    members.push_back(member);
    if (!had_colours && has_colours(members)) members = one_of_each(members);
  }
  close();
}

void add_repeats(const std::string& target, const Sequence& sequence, Plan& plan) {
  std::map<std::pair<std::string, std::string>, Sequence> alike;
  for (const Member& member : sequence)
    alike[{member.facts->said.filter, member.facts->said.panel}].push_back(member);
  for (const auto& [key, members] : alike) {
    if (members.size() < 2) continue;
    plan.sets.push_back({"repeats", names_of(members),
                         fmt::format("{}{}: the same target and filter again", target,
                                     key.first.empty() ? "" : " through " + key.first)});
  }
}

void add_panels(const std::string& target, const Sequence& sequence, Plan& plan) {
  std::map<std::string, std::string> panels;
  for (const Member& member : sequence) {
    if (!member.facts->said.panel.empty()) panels.emplace(member.facts->said.panel, member.name);
  }
  if (panels.size() < 2) return;
  std::vector<std::string> names;
  names.reserve(panels.size());
  for (const auto& [panel, name] : panels) names.push_back(name);
  plan.sets.push_back({"panels", names, fmt::format("{}: panels by their names", target)});
}

// The later captures of a set of repeats go into the picture of the first.
// @return the pictures that are gone.
std::set<std::string> join_repeats(Plan& plan) {
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
  return gone;
}

std::map<std::string, Sequence> sequences_of(const std::vector<Facts>& captures, const Plan& plan) {
  std::map<std::string, Sequence> targets;
  for (std::size_t i = 0; i < captures.size(); ++i) {
    if (!captures[i].said.target.empty())
      targets[captures[i].said.target].push_back({&captures[i], plan.pictures[i].name});
  }
  for (auto& [target, sequence] : targets) {
    std::stable_sort(sequence.begin(), sequence.end(), [](const Member& a, const Member& b) {
      return std::tie(a.facts->said.date, a.facts->when_s, a.name) <
             std::tie(b.facts->said.date, b.facts->when_s, b.name);
    });
  }
  return targets;
}

}  // namespace

void add_sets(const std::vector<Facts>& captures, Join join, Merging merging, Plan& plan) {
  std::map<std::string, Sequence> targets = sequences_of(captures, plan);
  for (const auto& [target, sequence] : targets) add_repeats(target, sequence, plan);
  if (join == Join::repeats) {
    const std::set<std::string> gone = join_repeats(plan);
    for (auto& [target, sequence] : targets)
      std::erase_if(sequence, [&](const Member& one) { return gone.contains(one.name); });
  }
  for (const auto& [target, sequence] : targets) {
    std::map<std::string, Sequence> by_panel;
    for (const Member& member : sequence) by_panel[member.facts->said.panel].push_back(member);
    for (const auto& [panel, members] : by_panel) add_colours(target, members, merging, plan);
    add_panels(target, sequence, plan);
  }
  std::stable_partition(plan.sets.begin(), plan.sets.end(),
                        [](const Set& set) { return set.kind == "colours"; });
}

}  // namespace lull::night
