#include "output/fits_cards.h"

#include <fitsio.h>
#include <fmt/format.h>

#include <array>
#include <fstream>
#include <memory>
#include <string_view>

#include "core/error.h"

namespace lull::output {

namespace {

struct Close {
  void operator()(fitsfile* fits) const {
    int status = 0;
    fits_close_file(fits, &status);
    fits_clear_errmsg();
  }
};

struct FreeText {
  void operator()(char* text) const {
    int status = 0;
    fits_free_memory(text, &status);
  }
};

}  // namespace

bool is_fits(const std::filesystem::path& path) {
  constexpr std::string_view kStart = "SIMPLE  =";
  std::ifstream file(path, std::ios::binary);
  std::array<char, kStart.size()> start = {};
  file.read(start.data(), start.size());
  return file && std::string_view(start.data(), start.size()) == kStart;
}

std::map<std::string, std::string> read_fits_cards(const std::filesystem::path& path,
                                                   const std::vector<std::string>& keys) {
  int status = 0;
  fitsfile* opened = nullptr;
  fits_open_diskfile(&opened, std::filesystem::absolute(path).c_str(), READONLY, &status);
  const std::unique_ptr<fitsfile, Close> fits(opened);
  if (status != 0) {
    fits_clear_errmsg();
    throw InputError(fmt::format("cannot read '{}': its FITS structure is damaged", path.string()));
  }
  std::map<std::string, std::string> cards;
  for (const std::string& key : keys) {
    status = 0;
    char* text = nullptr;
    fits_read_key_longstr(fits.get(), key.c_str(), &text, nullptr, &status);
    const std::unique_ptr<char, FreeText> owner(text);
    if (status == 0 && text != nullptr) cards[key] = text;
  }
  fits_clear_errmsg();
  return cards;
}

}  // namespace lull::output
