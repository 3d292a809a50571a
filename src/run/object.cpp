#include "run/object.h"

#include <cctype>
#include <filesystem>
#include <string_view>

namespace lull::run {

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

const Words<Object>& object_words() {
  static const Words<Object> words = {
      {Object::unspecified, "auto"}, {Object::sun, "sun"},         {Object::moon, "moon"},
      {Object::planet, "planet"},    {Object::mercury, "mercury"}, {Object::venus, "venus"},
      {Object::mars, "mars"},        {Object::jupiter, "jupiter"}, {Object::saturn, "saturn"},
      {Object::uranus, "uranus"},    {Object::neptune, "neptune"}, {Object::star, "star"}};
  return words;
}

std::optional<finish::Light> published_colour(Object object) {
  switch (object) {
    case Object::venus:
      return finish::sunlit_colour(0.80, 0.54);
    case Object::mars:
      return finish::sunlit_colour(1.43, 1.1);
    case Object::jupiter:
      return finish::sunlit_colour(0.87, 0.50);
    case Object::saturn:
      return finish::sunlit_colour(1.04, 0.66);
    default:
      return std::nullopt;
  }
}

std::string sun_caution(Object named, const std::string& capture, health::Kind seen) {
  const bool unspecified = named == Object::unspecified;
  if (named == Object::sun || (unspecified && named_after_the_sun(capture)))
    return std::string("The Sun: record it only with ").append(kRules);
  if (!unspecified || seen == health::Kind::star) return {};
  return std::string("If this is the Sun: record it only with ").append(kRules);
}

}  // namespace lull::run
