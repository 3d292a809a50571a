#include "app/sun_caution.h"

#include <cctype>
#include <filesystem>
#include <string_view>

#include "app/choices.h"

namespace lull::app {

namespace {

constexpr std::string_view kRules =
    "a certified full-aperture filter in front of the optics, the finder capped, and never an eye "
    "at unfiltered optics. Follow the maker's and local guidance.";

// Whether a word of letters in the name of the file is one of those for the Sun.
bool named_after_the_sun(const std::string& capture) {
  std::string word;
  for (const char c : std::filesystem::path(capture).filename().string() + ".") {
    const auto byte = static_cast<unsigned char>(c);
    if (std::isalpha(byte) != 0) {
      word += static_cast<char>(std::tolower(byte));
      continue;
    }
    if (word == "sun" || word == "solar") return true;
    word.clear();
  }
  return false;
}

}  // namespace

Object parse_object(const std::string& text) {
  if (text == "auto") return Object::not_told;
  if (text == "sun") return Object::sun;
  if (text == "moon") return Object::moon;
  if (text == "planet") return Object::planet;
  if (text == "star") return Object::star;
  throw no_such_choice("--object", text, {"auto", "sun", "moon", "planet", "star"});
}

std::string sun_caution(Object told, const std::string& capture, health::Kind seen) {
  const bool not_told = told == Object::not_told;
  if (told == Object::sun || (not_told && named_after_the_sun(capture)))
    return std::string("The Sun: record it only with ").append(kRules);
  if (!not_told || seen == health::Kind::star) return {};
  return std::string("If this is the Sun: record it only with ").append(kRules);
}

}  // namespace lull::app
