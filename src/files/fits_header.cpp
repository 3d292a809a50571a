#include "files/fits_header.h"

#include <fmt/chrono.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <sstream>

namespace lull::files {

namespace {

/// Headers hold printable ASCII only (FITS Standard 4.0, section 4.1.2.3). Bytes that continue a
/// UTF-8 character are dropped, so that each character becomes one '?'.
std::string ascii(const std::string& text) {
  std::string result;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if ((byte & 0xC0U) == 0x80U) continue;
    result += byte >= 32 && byte < 127 ? c : '?';
  }
  return result;
}

struct WriteCard {
  fitsfile* fits;
  const char* key;
  std::string comment;
  int* status;

  void operator()(bool value) const {
    int logical = value ? 1 : 0;
    fits_write_key(fits, TLOGICAL, key, &logical, comment.c_str(), status);
  }

  void operator()(std::int64_t value) const {
    fits_write_key_lng(fits, key, value, comment.c_str(), status);
  }

  void operator()(double value) const {
    if (std::isfinite(value)) {
      fits_write_key_dbl(fits, key, value, -17, comment.c_str(), status);
    } else {
      (*this)(fmt::format("{}", value));  // FITS knows no such number: as text
    }
  }

  void operator()(const std::string& value) const {
    fits_write_key_longstr(fits, key, ascii(value).c_str(), comment.c_str(), status);
  }
};

/// Room for settle_checksums(): a card that is added later may move all data.
void write_empty_checksums(fitsfile* fits, int* status) {
  fits_write_key_str(fits, "CHECKSUM", "0000000000000000", "HDU checksum", status);
  fits_write_key_str(fits, "DATASUM", "0", "data unit checksum", status);
}

}  // namespace

void create_fits_image(fitsfile* fits, Size size, std::size_t channels, int* status) {
  std::array<long, 3> sides = {size.width_px, size.height_px, 3};
  fits_create_img(fits, FLOAT_IMG, channels == 3 ? 3 : 2, sides.data(), status);
}

void write_fits_card(fitsfile* fits, const Card& card, int* status) {
  std::visit(WriteCard{fits, card.key.c_str(), ascii(card.comment), status}, card.value);
}

void write_first_cards(fitsfile* fits, const Metadata& metadata, int* status) {
  const auto is_long = [](const Card& card) {
    const auto* text = std::get_if<std::string>(&card.value);
    return text != nullptr && text->size() + card.comment.size() > 60;
  };
  if (std::any_of(metadata.cards.begin(), metadata.cards.end(), is_long)) {
    fits_write_key_longwarn(fits, status);
  }
  for (const Card& card : metadata.cards) write_fits_card(fits, card, status);
  write_fits_card(fits, {"SOFTWARE", software_name(), "program that wrote this file"}, status);
  write_fits_card(
      fits, {"LINEAR", metadata.transfer == Transfer::linear, "values are proportional to light"},
      status);
  if (metadata.date) {
    const auto seconds = std::chrono::system_clock::to_time_t(*metadata.date);
    write_fits_card(fits,
                    {"DATE", fmt::format("{:%Y-%m-%dT%H:%M:%S}", fmt::gmtime(seconds)),
                     "when the file was made (UTC)"},
                    status);
  }
  fits_write_comment(fits, "The first row of the array is the top row of the picture.", status);
  std::istringstream lines(metadata.description);
  for (std::string line; std::getline(lines, line);) {
    fits_write_history(fits, ascii(line).c_str(), status);
  }
  write_empty_checksums(fits, status);
}

void write_part_cards(fitsfile* fits, const std::string& name, const std::string& meaning,
                      const std::vector<Card>& cards, int* status) {
  fits_write_key_str(fits, "EXTNAME", name.c_str(), ascii(meaning).c_str(), status);
  for (const Card& card : cards) write_fits_card(fits, card, status);
  write_empty_checksums(fits, status);
}

void write_fits_table(fitsfile* fits, const FitsTable& table, int* status) {
  std::vector<char*> names;
  std::vector<char*> kinds;
  std::vector<char*> units;
  std::string kind = "1D";
  for (const FitsColumn& column : table.columns) {  // CFITSIO only reads these
    names.push_back(const_cast<char*>(column.name.c_str()));
    units.push_back(const_cast<char*>(column.unit.c_str()));
    kinds.push_back(kind.data());
  }
  const auto rows = static_cast<LONGLONG>(table.columns.front().values.size());
  fits_create_tbl(fits, BINARY_TBL, rows, static_cast<int>(names.size()), names.data(),
                  kinds.data(), units.data(), table.name.c_str(), status);
  for (std::size_t c = 0; c < table.columns.size(); ++c) {
    fits_write_col(fits, TDOUBLE, static_cast<int>(c) + 1, 1, 1, rows,
                   const_cast<double*>(table.columns[c].values.data()), status);
  }
  write_empty_checksums(fits, status);
}

/// fits_write_chksum() would put the present time into its comments, and equal runs would not give
/// equal files; so the same steps by hand (checksum convention of the FITS Standard 4.0, app. J).
void settle_checksums(fitsfile* fits, int* status) {
  // Fills the header up to its END, which counts, too.
  fits_flush_file(fits, status);
  unsigned long data_sum = 0;
  unsigned long hdu_sum = 0;
  fits_get_chksum(fits, &data_sum, &hdu_sum, status);
  fits_modify_key_str(fits, "DATASUM", fmt::format("{}", data_sum).c_str(), "&", status);
  fits_get_chksum(fits, &data_sum, &hdu_sum, status);
  std::array<char, FLEN_VALUE> encoded = {};
  fits_encode_chksum(hdu_sum, 1, encoded.data());
  fits_modify_key_str(fits, "CHECKSUM", encoded.data(), "&", status);
}

}  // namespace lull::files
