#include "files/fits_cards.h"

#include <fitsio.h>
#include <fmt/format.h>

#include <array>
#include <charconv>
#include <memory>
#include <optional>
#include <string_view>

#include "core/error.h"
#include "files/failure.h"
#include "files/fits_pointer.h"

namespace lull::files {

namespace {

struct FreeText {
  void operator()(char* text) const {
    int status = 0;
    fits_free_memory(text, &status);
  }
};

std::optional<std::string> text_of(fitsfile* fits, const std::string& key, std::string& comment) {
  int status = 0;
  char* text = nullptr;
  std::array<char, FLEN_COMMENT> words = {};
  fits_read_key_longstr(fits, key.c_str(), &text, words.data(), &status);
  const std::unique_ptr<char, FreeText> owner(text);
  if (status != 0 || text == nullptr) return std::nullopt;
  comment = words.data();
  comment.erase(0, comment.find_first_not_of(' '));  // CFITSIO leaves one behind long texts
  return std::string(text);
}

// C, L, I, F or nothing, as CFITSIO names the type of a value.
char type_of(fitsfile* fits, const std::string& key) {
  int status = 0;
  std::array<char, FLEN_VALUE> raw = {};
  char type = 0;
  fits_read_keyword(fits, key.c_str(), raw.data(), nullptr, &status);
  fits_get_keytype(raw.data(), &type, &status);
  return status == 0 ? type : '\0';
}

template <class T>
std::optional<T> number_in(const std::string& text) {
  T value{};
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end) return std::nullopt;
  return value;
}

std::optional<Card> typed(const std::string& key, const std::string& text, char type) {
  switch (type) {
    case 'C':
      return Card{key, text, {}};
    case 'L':
      return Card{key, text == "T", {}};
    case 'I':
      if (const auto value = number_in<std::int64_t>(text)) return Card{key, *value, {}};
      break;
    case 'F':
      if (const auto value = number_in<double>(text)) return Card{key, *value, {}};
      break;
    default:
      break;
  }
  return std::nullopt;
}

}  // namespace

bool is_fits(const std::filesystem::path& path) {
  constexpr std::string_view kStart = "SIMPLE  =";
  if (!why_unreadable(path).empty()) return false;  // a named pipe would wait for a writer
  return first_bytes(path, kStart.size()) == kStart;
}

std::map<std::string, std::string> read_fits_cards(const std::filesystem::path& path,
                                                   const std::vector<std::string>& keys) {
  const FitsPointer fits = open_fits(path);
  std::map<std::string, std::string> cards;
  for (const std::string& key : keys) {
    std::string comment;
    if (const auto text = text_of(fits.get(), key, comment)) cards[key] = *text;
  }
  fits_clear_errmsg();
  throw_if_disk_failed(path);
  return cards;
}

std::vector<Card> read_typed_cards(const std::filesystem::path& path,
                                   const std::vector<std::string>& keys) {
  const FitsPointer fits = open_fits(path);
  std::vector<Card> cards;
  for (const std::string& key : keys) {
    std::string comment;
    const auto text = text_of(fits.get(), key, comment);
    if (!text) continue;
    auto card = typed(key, *text, type_of(fits.get(), key));
    if (!card) continue;
    card->comment = comment;
    cards.push_back(std::move(*card));
  }
  fits_clear_errmsg();
  throw_if_disk_failed(path);
  return cards;
}

}  // namespace lull::files
