#include "night/words.h"

#include <algorithm>
#include <cctype>
#include <map>

#include "profile/profile.h"

namespace lull::night {

namespace {

bool is_of_a_word(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte >= 0x80 || std::isalnum(byte) != 0;
}

// Other words and abbreviations: common practice, no source.
const std::map<std::string, std::string>& other_words() {
  static const std::map<std::string, std::string> words = {
      {"solar", "sun"},   {"sol", "sun"},    {"lunar", "moon"}, {"luna", "moon"},
      {"mer", "mercury"}, {"ven", "venus"},  {"mar", "mars"},   {"jup", "jupiter"},
      {"sat", "saturn"},  {"ura", "uranus"}, {"nep", "neptune"}};
  return words;
}

}  // namespace

std::string lower(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return text;
}

std::vector<std::string> words_of(const std::string& name) {
  std::vector<std::string> words(1);
  for (const char c : name) {
    if (is_of_a_word(c)) {
      words.back() += c;
    } else if (!words.back().empty()) {
      words.emplace_back();
    }
  }
  if (words.back().empty()) words.pop_back();
  return words;
}

std::string target_word(const std::string& word) {
  const std::string small = lower(word);
  const auto& known = profile::target_words();
  if (std::find(known.begin(), known.end(), small) != known.end()) return small;
  const auto other = other_words().find(small);
  return other == other_words().end() ? std::string() : other->second;
}

}  // namespace lull::night
