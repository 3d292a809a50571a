#include "judge/truth.h"

#include <fitsio.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <string>

#include "core/error.h"
#include "files/fits_pointer.h"

namespace lull::judge {

namespace {

/// With the rim. Far above any simulated scene, and low enough that a damaged header cannot ask
/// for all memory.
constexpr LONGLONG kMostPx = 16'000'000;
constexpr int kSmallestBoxPx = 32;

InputError bad_truth(const std::filesystem::path& path, const std::string& why) {
  return InputError(fmt::format("cannot use '{}' as the truth: {}", path.string(), why));
}

/// @throws InputError with CFITSIO's own words.
void require(const std::filesystem::path& path, int status, const std::string& what) {
  if (status == 0) return;
  std::array<char, FLEN_STATUS> words = {};
  fits_get_errstatus(status, words.data());
  fits_clear_errmsg();
  throw bad_truth(path, fmt::format("{} ({})", what, words.data()));
}

double card(const std::filesystem::path& path, fitsfile* fits, const std::string& key) {
  int status = 0;
  double value = 0;
  fits_read_key(fits, TDOUBLE, key.c_str(), &value, nullptr, &status);
  require(path, status, fmt::format("its header has no {}", key));
  if (!std::isfinite(value)) throw bad_truth(path, fmt::format("{} is not a number", key));
  return value;
}

/// A card that counts pixels.
int pixel_card(const std::filesystem::path& path, fitsfile* fits, const std::string& key) {
  const double value = card(path, fits, key);
  if (value < 0 || value > kMostPx || value != std::floor(value)) {
    throw bad_truth(path, fmt::format("{} is {}, not a number of pixels", key, value));
  }
  return static_cast<int>(value);
}

std::vector<Image> read_extended(const std::filesystem::path& path, fitsfile* fits) {
  int status = 0;
  std::string name = "EXTENDED";
  fits_movnam_hdu(fits, IMAGE_HDU, name.data(), 0, &status);
  require(path, status, "it has no image EXTENDED");
  int axes = 0;
  std::array<LONGLONG, 3> sides = {1, 1, 1};
  fits_get_img_dim(fits, &axes, &status);
  fits_get_img_sizell(fits, 3, sides.data(), &status);
  require(path, status, "the header of its image EXTENDED is damaged");
  const auto [width, height, depth] = sides;
  if (axes < 2 || axes > 3 || (depth != 1 && depth != 3)) {
    throw bad_truth(path, "its image EXTENDED has neither one channel nor three");
  }
  if (width < kSmallestBoxPx || height < kSmallestBoxPx || width > kMostPx || height > kMostPx ||
      width * height > kMostPx) {
    throw bad_truth(
        path, fmt::format("its image EXTENDED has {} x {} pixels; from {} x {} to {} "
                          "million are possible",
                          width, height, kSmallestBoxPx, kSmallestBoxPx, kMostPx / 1'000'000));
  }
  std::vector<Image> channels;
  for (LONGLONG c = 0; c < depth; ++c) {
    Image& channel = channels.emplace_back(static_cast<int>(width), static_cast<int>(height));
    fits_read_img(fits, TDOUBLE, 1 + c * width * height, width * height, nullptr,
                  channel.samples.data(), nullptr, &status);
    require(path, status, "its image EXTENDED is damaged or cut short");
    if (!std::all_of(channel.samples.begin(), channel.samples.end(),
                     [](double v) { return std::isfinite(v); })) {
      throw bad_truth(path, "its image EXTENDED holds samples that are not finite numbers");
    }
  }
  return channels;
}

void check_box(const std::filesystem::path& path, const Truth& truth, Size extended) {
  const Box& box = truth.box;
  if (box.width_px() < kSmallestBoxPx || box.height_px() < kSmallestBoxPx ||
      box.x1 > extended.width_px - 2 * truth.rim_px ||
      box.y1 > extended.height_px - 2 * truth.rim_px) {
    throw bad_truth(
        path, fmt::format("its box from ({}, {}) to ({}, {}) with a rim of {} does not fit into "
                          "{} x {} pixels, or is smaller than {} px",
                          box.x0, box.y0, box.x1, box.y1, truth.rim_px, extended.width_px,
                          extended.height_px, kSmallestBoxPx));
  }
}

}  // namespace

Image Truth::seen(const Spline& spline, const Box& seen_box, Displacement shift) const {
  return spline.sampled({seen_box.width_px(), seen_box.height_px()},
                        {seen_box.x0 + rim_px - shift.x_px, seen_box.y0 + rim_px - shift.y_px});
}

Image Truth::seen(const Spline& spline, const Box& seen_box, Displacement shift,
                  const Image& field_x, const Image& field_y) const {
  Image image(field_x.size());
  for (int y = 0; y < image.height_px; ++y) {
    for (int x = 0; x < image.width_px; ++x) {
      image.at(x, y) = spline.at(seen_box.x0 + x + rim_px - shift.x_px - field_x.at(x, y),
                                 seen_box.y0 + y + rim_px - shift.y_px - field_y.at(x, y));
    }
  }
  return image;
}

Truth read_truth(const std::filesystem::path& path) {
  const files::FitsPointer fits = files::open_fits(path);
  Truth truth;
  truth.cutoff = card(path, fits.get(), "CUTOFF");
  if (!(truth.cutoff > 0 && truth.cutoff <= 1)) {
    throw bad_truth(path, fmt::format("CUTOFF is {}, not between 0 and 1 cycles/px", truth.cutoff));
  }
  truth.rim_px = pixel_card(path, fits.get(), "EXT");
  truth.box = {pixel_card(path, fits.get(), "BOXX0"), pixel_card(path, fits.get(), "BOXY0"),
               pixel_card(path, fits.get(), "BOXX1"), pixel_card(path, fits.get(), "BOXY1")};
  std::vector<double> wavelengths;
  for (int c = 0; c < 3; ++c) {
    int status = 0;
    double value = 0;
    fits_read_key(fits.get(), TDOUBLE, fmt::format("LAM{}", c).c_str(), &value, nullptr, &status);
    fits_clear_errmsg();
    if (status == 0) wavelengths.push_back(value);
  }
  const std::vector<Image> channels = read_extended(path, fits.get());
  if (wavelengths.size() < channels.size() ||
      !std::all_of(wavelengths.begin(), wavelengths.end(), [](double v) { return v > 0; })) {
    throw bad_truth(path, "its header has no LAM0 .. (relative wavelength) for every channel");
  }
  wavelengths.resize(channels.size());
  truth.relative_wavelengths = wavelengths;
  check_box(path, truth, channels.front().size());
  for (const Image& channel : channels) truth.channels.emplace_back(channel);
  truth.mean_samples = mean_of(channels);
  truth.mean = Spline(truth.mean_samples);
  return truth;
}

}  // namespace lull::judge
