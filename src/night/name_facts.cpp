#include "night/name_facts.h"

#include <charconv>
#include <filesystem>
#include <map>
#include <utility>

#include "night/words.h"

namespace lull::night {

namespace {

// Words for filters where no profile lists them: common practice, no source. A letter alone is one
// only as a capital.
const std::map<std::string, std::string>& filter_words() {
  static const std::map<std::string, std::string> words = {
      {"red", "R"},       {"green", "G"},   {"blue", "B"}, {"lum", "L"},
      {"luminance", "L"}, {"ir", "IR"},     {"uv", "UV"},  {"ch4", "CH4"},
      {"ha", "Ha"},       {"halpha", "Ha"}, {"cak", "CaK"}};
  return words;
}

std::string plain_filter(const std::string& word) {
  if (word == "R" || word == "G" || word == "B" || word == "L") return word;
  const auto found = filter_words().find(lower(word));
  return found == filter_words().end() ? std::string() : found->second;
}

// The filters of a profile are all that there are.
std::string known_filter(const std::string& word, const profile::Profile& profile) {
  if (const profile::Filter* filter = profile.filter(word)) return filter->name;
  return profile.filters.empty() ? plain_filter(word) : std::string();
}

std::optional<Kind> kind_word(const std::string& word) {
  const std::string small = lower(word);
  if (small == "dark" || small == "darks" || small == "bias") return Kind::dark;
  if (small == "flat" || small == "flats") return Kind::flat;
  return std::nullopt;
}

// The number that follows one of the words, in the same word or the next: gain300, gain_300.
std::string number_after(const std::vector<std::string>& words, std::size_t at,
                         const std::string& before) {
  const std::string small = lower(words[at]);
  if (!small.starts_with(before)) return {};
  std::string rest = small.substr(before.size());
  if (rest.empty() && at + 1 < words.size()) rest = lower(words[at + 1]);
  const bool is_number = !rest.empty() && rest.find_first_not_of("0123456789") == std::string::npos;
  return is_number ? rest : std::string();
}

// An exposure may have a point, which parts words: it is looked for in the whole name.
std::optional<double> exposure_within(const std::string& name) {
  const std::string small = lower(name);
  for (std::size_t at = 0; at < small.size(); ++at) {
    const bool begins = std::isdigit(static_cast<unsigned char>(small[at])) != 0 &&
                        (at == 0 || (std::isdigit(static_cast<unsigned char>(small[at - 1])) == 0 &&
                                     small[at - 1] != '.' && small[at - 1] != ','));
    if (!begins) continue;
    std::size_t end = small.find_first_not_of("0123456789.,", at);
    if (end == std::string::npos) continue;
    while (end < small.size() && std::isalpha(static_cast<unsigned char>(small[end])) != 0) ++end;
    if (const auto found = exposure_in(small.substr(at, end - at))) return found;
  }
  return std::nullopt;
}

void read_words(const std::string& text, const profile::Profile& profile, NameFacts& facts) {
  const std::vector<std::string> words = words_of(text);
  for (std::size_t i = 0; i < words.size(); ++i) {
    const std::string& word = words[i];
    if (const auto kind = kind_word(word)) facts.kind = kind;
    if (const std::string target = target_word(word); !target.empty()) facts.target = target;
    if (std::string filter = known_filter(word, profile); !filter.empty()) {
      facts.filter = std::move(filter);
      facts.filter_word = word;
    }
    for (const char* before : {"panel", "tile"}) {
      if (std::string panel = number_after(words, i, before); !panel.empty())
        facts.panel = std::move(panel);
    }
    if (const std::string gain = number_after(words, i, "gain"); !gain.empty())
      facts.gain = std::stod(gain.substr(0, 9));
  }
  if (const auto exposure = exposure_within(text)) facts.exposure_s = exposure;
}

}  // namespace

std::optional<double> exposure_in(const std::string& text) {
  std::string number = lower(text);
  for (char& c : number) {
    if (c == ',') c = '.';
  }
  double value = 0;
  const char* end = number.data() + number.size();
  const auto parsed = std::from_chars(number.data(), end, value);
  if (parsed.ec != std::errc() || value <= 0) return std::nullopt;
  std::string unit(parsed.ptr, end);
  std::erase(unit, ' ');
  if (unit == "s" || unit == "sec") return value;
  if (unit == "ms") return value * 1e-3;
  if (unit == "us") return value * 1e-6;
  return std::nullopt;
}

NameReader::NameReader(const profile::Profile& profile) : profile_(profile) {
  for (const profile::Line& line : profile.night.names) rules_.emplace_back(line, profile.path);
}

NameFacts NameReader::read(const std::string& folder, const std::string& name) const {
  NameFacts facts;
  for (const std::filesystem::path& part : std::filesystem::path(folder))
    read_words(part.string(), profile_, facts);
  const std::string stem = std::filesystem::path(name).stem().string();
  for (const NameRule& rule : rules_) {
    if (rule.read(stem, facts)) {
      if (const std::string known = known_filter(facts.filter, profile_); !known.empty())
        facts.filter = known;
      return facts;
    }
  }
  read_words(stem, profile_, facts);
  return facts;
}

}  // namespace lull::night
