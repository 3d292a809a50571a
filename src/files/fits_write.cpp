#include <fitsio.h>
#include <fmt/chrono.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <memory>
#include <sstream>
#include <string>
#include <vector>

#include "files/atomic_file.h"
#include "files/failure.h"
#include "files/fits.h"
#include "files/fits_pointer.h"

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

void write_card(fitsfile* fits, const Card& card, int* status) {
  std::visit(WriteCard{fits, card.key.c_str(), ascii(card.comment), status}, card.value);
}

void write_text_cards(fitsfile* fits, const Metadata& metadata, int* status) {
  const auto is_long = [](const Card& card) {
    const auto* text = std::get_if<std::string>(&card.value);
    return text != nullptr && text->size() + card.comment.size() > 60;
  };
  if (std::any_of(metadata.cards.begin(), metadata.cards.end(), is_long)) {
    fits_write_key_longwarn(fits, status);
  }
  for (const Card& card : metadata.cards) write_card(fits, card, status);
  write_card(fits, {"SOFTWARE", software_name(), "program that wrote this file"}, status);
  write_card(fits,
             {"LINEAR", metadata.transfer == Transfer::linear, "values are proportional to light"},
             status);
  if (metadata.date) {
    const auto seconds = std::chrono::system_clock::to_time_t(*metadata.date);
    write_card(fits,
               {"DATE", fmt::format("{:%Y-%m-%dT%H:%M:%S}", fmt::gmtime(seconds)),
                "when the file was made (UTC)"},
               status);
  }
  fits_write_comment(fits, "The first row of the array is the top row of the picture.", status);
  std::istringstream lines(metadata.description);
  for (std::string line; std::getline(lines, line);) {
    fits_write_history(fits, ascii(line).c_str(), status);
  }
}

/// fits_write_chksum() would put the present time into its comments, and equal runs would not give
/// equal files; so the same steps by hand (checksum convention of the FITS Standard 4.0, app. J).
void write_checksums(fitsfile* fits, int* status) {
  fits_write_key_str(fits, "CHECKSUM", "0000000000000000", "HDU checksum", status);
  fits_write_key_str(fits, "DATASUM", "0", "data unit checksum", status);
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

void create_image(fitsfile* fits, const PictureView& picture, int* status) {
  std::array<long, 3> sides = {picture.size().width_px, picture.size().height_px, 3};
  const int axes = picture.channels.size() == 3 ? 3 : 2;
  fits_create_img(fits, FLOAT_IMG, axes, sides.data(), status);
}

FitsPointer create(const std::filesystem::path& temporary, const PictureView& picture,
                   int* status) {
  fitsfile* fits = nullptr;
  fits_create_diskfile(&fits, temporary.c_str(), status);  // takes the name literally
  FitsPointer owner(fits);
  create_image(owner.get(), picture, status);
  return owner;
}

void write_floats(fitsfile* fits, const PictureView& picture, int* status) {
  std::vector<float> row(static_cast<std::size_t>(picture.size().width_px));
  LONGLONG first = 1;
  for (const PlaneView& channel : picture.channels) {
    for (int y = 0; y < channel.height_px && *status == 0; ++y) {
      std::copy_n(channel.row(y), channel.width_px, row.data());
      fits_write_img(fits, TFLOAT, first, channel.width_px, row.data(), status);
      first += channel.width_px;
    }
  }
}

void write_image_part(fitsfile* fits, const FitsImage& image, int* status) {
  create_image(fits, image.picture, status);
  fits_write_key_str(fits, "EXTNAME", image.name.c_str(), ascii(image.meaning).c_str(), status);
  for (const Card& card : image.cards) write_card(fits, card, status);
  write_floats(fits, image.picture, status);
  write_checksums(fits, status);
}

void write_table_part(fitsfile* fits, const FitsTable& table, int* status) {
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
  write_checksums(fits, status);
}

/// CFITSIO seldom reports why a write failed; errno usually holds the reason.
void close_and_commit(FitsPointer fits, AtomicFile& file, const std::filesystem::path& path,
                      int status) {
  if (status == 0) fits_close_file(fits.release(), &status);
  if (status != 0) {
    const int error_number = errno;
    fits.reset();
    fits_clear_errmsg();
    throw cannot_write(path, error_number);
  }
  file.commit();
}

}  // namespace

void write_fits_float(const std::filesystem::path& path, const PictureView& picture,
                      const Metadata& metadata, const FitsParts& parts) {
  check_picture(picture, {});
  for (const FitsImage& image : parts.images) check_picture(image.picture, {});
  AtomicFile file(path);
  int status = 0;
  errno = 0;
  FitsPointer fits = create(file.hand_over_name(), picture, &status);
  write_text_cards(fits.get(), metadata, &status);
  write_floats(fits.get(), picture, &status);
  write_checksums(fits.get(), &status);
  for (const FitsImage& image : parts.images) write_image_part(fits.get(), image, &status);
  for (const FitsTable& table : parts.tables) write_table_part(fits.get(), table, &status);
  close_and_commit(std::move(fits), file, path, status);
}

}  // namespace lull::files
