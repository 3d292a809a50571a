#include "files/fits_parts.h"

#include <fitsio.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cmath>
#include <memory>

#include "core/error.h"
#include "files/failure.h"
#include "files/fits_pointer.h"
#include "files/fits_structure.h"

namespace lull::files {

namespace {

constexpr LONGLONG kMostRows = 1'000'000;
constexpr int kMostColumns = 100;

void require(const std::filesystem::path& path, int status, const std::string& what) {
  if (status == 0) return;
  fits_clear_errmsg();
  throw_if_disk_failed(path);
  throw InputError(fmt::format("cannot read '{}': {}", path.string(), what));
}

// CFITSIO takes a header that the disk does not give for the end of the file, and may forget the
// error: then it has seen fewer units than there are.
void require_all_units(const std::filesystem::path& path, fitsfile* fits) {
  int status = 0;
  int seen = 0;
  fits_get_num_hdus(fits, &seen, &status);
  if (status != 0 || seen < check_fits_structure(path)) throw cannot_read(path, EIO);
}

// False if the file has no such extension.
bool move_to(const std::filesystem::path& path, fitsfile* fits, int type, const std::string& name) {
  int status = 0;
  std::string copy = name;
  fits_movnam_hdu(fits, type, copy.data(), 0, &status);
  fits_clear_errmsg();
  if (status != 0) require_all_units(path, fits);
  return status == 0;
}

std::string damaged(const std::string& name) {
  return fmt::format("its extension {} is damaged; use the file as it was written", name);
}

Picture sized_picture(const std::filesystem::path& path, fitsfile* fits, const std::string& name) {
  const auto floats = floats_here(fits, kMaxPicturePx);
  if (!floats) require(path, 1, damaged(name));
  return make_picture(floats->size, static_cast<int>(floats->channels));
}

std::string column_name(fitsfile* fits, int column, int* status) {
  std::array<char, FLEN_VALUE> name = {};
  std::array<char, FLEN_KEYWORD> key = {};
  fits_make_keyn("TTYPE", column, key.data(), status);
  fits_read_key(fits, TSTRING, key.data(), name.data(), nullptr, status);
  return name.data();
}

}  // namespace

const std::vector<double>* FitsTable::find(const std::string& column) const {
  const auto found = std::find_if(columns.begin(), columns.end(),
                                  [&](const FitsColumn& c) { return c.name == column; });
  return found == columns.end() ? nullptr : &found->values;
}

std::optional<Picture> read_fits_image(const std::filesystem::path& path, const std::string& name) {
  const FitsPointer fits = open_fits(path);
  if (!move_to(path, fits.get(), IMAGE_HDU, name)) return std::nullopt;
  Picture picture = sized_picture(path, fits.get(), name);
  int status = 0;
  LONGLONG first = 1;
  for (Plane& channel : picture.channels) {
    for (int y = 0; y < channel.height(); ++y) {
      float* row = channel.row(y);
      fits_read_img(fits.get(), TFLOAT, first, channel.width(), nullptr, row, nullptr, &status);
      require(path, status, damaged(name));
      if (!std::all_of(row, row + channel.width(), [](float v) { return std::isfinite(v); }))
        require(path, 1, damaged(name));
      first += channel.width();
    }
  }
  return picture;
}

std::optional<FitsTable> read_fits_table(const std::filesystem::path& path,
                                         const std::string& name) {
  const FitsPointer fits = open_fits(path);
  if (!move_to(path, fits.get(), BINARY_TBL, name)) return std::nullopt;
  int status = 0;
  LONGLONG rows = 0;
  int columns = 0;
  fits_get_num_rowsll(fits.get(), &rows, &status);
  fits_get_num_cols(fits.get(), &columns, &status);
  require(path, status, damaged(name));
  if (rows < 1 || rows > kMostRows || columns < 1 || columns > kMostColumns)
    require(path, 1, damaged(name));
  FitsTable table{name, {}};
  for (int c = 1; c <= columns; ++c) {
    int type = 0;
    long repeat = 0;
    fits_get_coltype(fits.get(), c, &type, &repeat, nullptr, &status);
    if (type != TDOUBLE || repeat != 1) require(path, 1, damaged(name));
    FitsColumn column{column_name(fits.get(), c, &status), {}, {}};
    column.values.resize(static_cast<std::size_t>(rows));
    fits_read_col(fits.get(), TDOUBLE, c, 1, 1, rows, nullptr, column.values.data(), nullptr,
                  &status);
    require(path, status, damaged(name));
    if (!std::all_of(column.values.begin(), column.values.end(),
                     [](double v) { return std::isfinite(v); }))
      require(path, 1, damaged(name));
    table.columns.push_back(std::move(column));
  }
  return table;
}

int count_fits_images(const std::filesystem::path& path) {
  const FitsPointer fits = open_fits(path);
  int status = 0;
  int units = 0;
  fits_get_num_hdus(fits.get(), &units, &status);
  require_all_units(path, fits.get());
  int images = 0;
  for (int unit = 1; unit <= units && status == 0; ++unit) {
    int type = 0;
    int axes = 0;
    fits_movabs_hdu(fits.get(), unit, &type, &status);
    if (type != IMAGE_HDU) continue;
    fits_get_img_dim(fits.get(), &axes, &status);
    images += axes > 0 ? 1 : 0;
  }
  require(path, status, "its FITS structure is damaged");
  return images;
}

}  // namespace lull::files
