#include "run/object.h"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <string_view>
#include <vector>

namespace lull::run {

namespace {

constexpr std::string_view kRules =
    "a certified full-aperture filter in front of the optics, the finder capped, and never an eye "
    "at unfiltered optics. Follow the maker's and local guidance.";

// Words of letters in the name of the file, in small letters.
std::vector<std::string> words_of(const std::string& capture) {
  std::vector<std::string> words(1);
  for (const char c : std::filesystem::path(capture).filename().string()) {
    const auto byte = static_cast<unsigned char>(c);
    if (std::isalpha(byte) != 0) {
      words.back() += static_cast<char>(std::tolower(byte));
    } else if (!words.back().empty()) {
      words.emplace_back();
    }
  }
  return words;
}

bool names_any(const std::string& capture, const std::vector<std::string>& known) {
  const auto words = words_of(capture);
  return std::find_first_of(words.begin(), words.end(), known.begin(), known.end()) != words.end();
}

bool named_after_the_sun(const std::string& capture) {
  return names_any(capture, {"sun", "solar"});
}

bool named_after_another(const std::string& capture) {
  return names_any(capture,
                   {"moon", "lunar", "luna", "mars", "jupiter", "saturn", "uranus", "neptune"}) &&
         !names_any(capture, {"eclipse", "transit"});
}

// The object that the words of one name say.
Object object_in_name(const std::string& capture) {
  if (names_any(capture, {"eclipse", "transit"})) return Object::unspecified;
  std::vector<Object> found;
  for (const auto& [object, word] : object_words()) {
    if (object != Object::unspecified && names_any(capture, {word})) found.push_back(object);
  }
  if (found.empty() && names_any(capture, {"solar"})) return Object::sun;
  if (found.empty() && names_any(capture, {"lunar", "luna"})) return Object::moon;
  return found.size() == 1 ? found.front() : Object::unspecified;
}

}  // namespace

Object object_in_names(const std::vector<std::string>& captures) {
  if (captures.empty()) return Object::unspecified;
  const Object first = object_in_name(captures.front());
  const bool agree = std::all_of(captures.begin(), captures.end(), [first](const auto& capture) {
    return object_in_name(capture) == first;
  });
  return agree ? first : Object::unspecified;
}

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

std::string sun_caution(Object named, const std::vector<std::string>& captures, health::Kind seen) {
  const bool unspecified = named == Object::unspecified;
  if (named == Object::sun ||
      (unspecified && std::any_of(captures.begin(), captures.end(), named_after_the_sun)))
    return std::string("The Sun: record it only with ").append(kRules);
  if (!unspecified || seen == health::Kind::star) return {};
  if (!captures.empty() && std::all_of(captures.begin(), captures.end(), named_after_another))
    return {};
  return std::string("If this is the Sun: record it only with ").append(kRules);
}

}  // namespace lull::run
