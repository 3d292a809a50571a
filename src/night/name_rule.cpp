#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>

#include "core/choices.h"
#include "core/error.h"
#include "night/name_facts.h"
#include "night/words.h"

namespace lull::night {

namespace {

const std::vector<std::string>& part_names() {
  static const std::vector<std::string> names = {"date", "target", "filter", "exposure",
                                                 "gain", "panel",  "kind",   "any"};
  return names;
}

constexpr std::size_t kLongestFilter = 40;  // as --filter takes it

// No name of 255 bytes needs more; a pattern of many parts could try for ever.
constexpr int kMostSteps = 200'000;

std::optional<Kind> kind_of(const std::string& word) {
  for (const Kind kind : {Kind::light, Kind::dark, Kind::flat}) {
    if (word == kind_name(kind) || word == kind_name(kind) + "s") return kind;
  }
  return std::nullopt;
}

std::optional<double> plain_number(const std::string& text) {
  double value = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  return value;
}

// @return whether the value is one that the part can have.
bool set_part(NameFacts& facts, const std::string& part, const std::string& value) {
  if (part == "kind") return (facts.kind = kind_of(lower(value))).has_value();
  if (part == "exposure") return (facts.exposure_s = exposure_in(value)).has_value();
  if (part == "gain") return (facts.gain = plain_number(value)).has_value();
  if (part == "filter" && value.size() > kLongestFilter) return false;
  if (part == "target") facts.target = target_word(value).empty() ? value : target_word(value);
  if (part == "filter") facts.filter = facts.filter_word = value;
  if (part == "panel") facts.panel = value;
  if (part == "date") facts.date = value;
  return true;
}

}  // namespace

NameRule::NameRule(const profile::Line& pattern, const std::string& file) {
  const auto fail = [&](const std::string& what) {
    throw InputError(
        fmt::format("{}:{}: [night]: names: '{}': {}", file, pattern.number, pattern.text, what));
  };
  const std::string& text = pattern.text;
  for (std::size_t at = 0; at < text.size();) {
    if (text[at] == '{') {
      const std::size_t end = text.find('}', at);
      if (end == std::string::npos) fail("a brace is not closed");
      const std::string part = text.substr(at + 1, end - at - 1);
      const auto& known = part_names();
      if (std::find(known.begin(), known.end(), part) == known.end())
        fail(fmt::format("unknown part '{}'.{} Known: {}", part, did_you_mean(part, known),
                         listed(known)));
      const bool twice = part != "any" && std::any_of(pieces_.begin(), pieces_.end(),
                                                      [&](auto& one) { return one.part == part; });
      if (twice) fail(fmt::format("{{{}}} occurs twice", part));
      pieces_.push_back({part, {}});
      at = end + 1;
    } else {
      const std::size_t end = std::min(text.find('{', at), text.size());
      pieces_.push_back({{}, lower(text.substr(at, end - at))});
      at = end;
    }
  }
}

bool NameRule::fits(const std::string& name, std::size_t at, std::size_t piece,
                    std::vector<std::string>& values, int& steps) const {
  if (++steps > kMostSteps) return false;
  if (piece == pieces_.size()) return at == name.size();
  const Piece& one = pieces_[piece];
  if (one.part.empty()) {
    if (lower(name.substr(at, one.text.size())) != one.text) return false;
    return fits(name, at + one.text.size(), piece + 1, values, steps);
  }
  for (std::size_t end = at + 1; end <= name.size(); ++end) {
    values[piece] = name.substr(at, end - at);
    NameFacts tried;
    if (set_part(tried, one.part, values[piece]) && fits(name, end, piece + 1, values, steps))
      return true;
  }
  return false;
}

bool NameRule::read(const std::string& name, NameFacts& facts) const {
  std::vector<std::string> values(pieces_.size());
  int steps = 0;
  if (!fits(name, 0, 0, values, steps)) return false;
  for (std::size_t i = 0; i < pieces_.size(); ++i) {
    if (!pieces_[i].part.empty()) set_part(facts, pieces_[i].part, values[i]);
  }
  return true;
}

}  // namespace lull::night
