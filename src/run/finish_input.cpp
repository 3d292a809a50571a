#include "run/finish_input.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/error.h"
#include "files/fits_cards.h"
#include "files/picture_file.h"
#include "run/linear_file.h"
#include "run/memory_need.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

constexpr int kLeastSide = 16;
constexpr double kPlanesAtWork = 28;    // of one channel: wavelet planes, spectrum, noise
constexpr double kPlanesAChannel = 4;   // stack, noise, result, and one in between
constexpr float kLargestValue = 1e12F;  // its square, summed over a large picture, is a float still
constexpr std::int64_t kFewClipped = 16;  // samples
constexpr double kClippedShare = 1e-4;

InputError cannot_finish(const std::filesystem::path& path, const std::string& why) {
  return InputError(fmt::format("cannot finish '{}': {}", path.string(), why));
}

void check_values(const std::filesystem::path& path, const Plane& plane) {
  for (int y = 0; y < plane.height(); ++y) {
    for (int x = 0; x < plane.width(); ++x) {
      if (std::abs(plane.row(y)[x]) <= kLargestValue) continue;
      throw cannot_finish(
          path,
          fmt::format("its value {:.3g} at column {}, row {} is too large to work with; scale "
                      "the picture so that full scale is 1",
                      plane.row(y)[x], x, y));
    }
  }
}

// Before any sample is read.
void check_memory(const std::filesystem::path& path, Size size, int channels) {
  const double planes = kPlanesAtWork + kPlanesAChannel * channels;
  const double bytes = planes * sizeof(float) * static_cast<double>(size.area_px());
  require_memory(fmt::format("cannot finish '{}': {} x {} pixels", path.string(), size.width_px,
                             size.height_px),
                 bytes, {}, "close other programs, or cut the picture into parts");
}

void check(const std::filesystem::path& path, const files::PictureFile& file) {
  if (file.has_alpha) {
    throw cannot_finish(path,
                        "it has an alpha channel, and transparent pixels cannot be restored; save "
                        "it without transparency");
  }
  const Size size = file.picture.size();
  if (std::min(size.width_px, size.height_px) < kLeastSide) {
    throw cannot_finish(path, fmt::format("{} x {} pixels are too few; at least {} a side are "
                                          "needed",
                                          size.width_px, size.height_px, kLeastSide));
  }
  for (const Plane& plane : file.picture.channels) check_values(path, plane);
}

// Samples at the brightest value: a stack has one, a clipped picture many.
std::int64_t samples_at_top(const Plane& plane) {
  float top = -std::numeric_limits<float>::infinity();
  for (int y = 0; y < plane.height(); ++y)
    top = std::max(top, *std::max_element(plane.row(y), plane.row(y) + plane.width()));
  std::int64_t count = 0;
  for (int y = 0; y < plane.height(); ++y)
    count += std::count(plane.row(y), plane.row(y) + plane.width(), top);
  return count;
}

std::vector<std::string> warnings_of(const files::PictureFile& file) {
  std::vector<std::string> out;
  if (file.bits_per_sample == 8) {
    out.emplace_back(
        "it has 8 bits a sample: its 256 levels show as steps and count as noise, and such "
        "pictures are mostly stretched. Use the linear stack, or save it with 16 bits");
  }
  if (file.stretched) {
    out.emplace_back(
        "its values are stretched, not proportional to light: edges between dark and bright are "
        "not restored correctly. Use the linear stack");
  }
  std::int64_t clipped = 0;
  std::int64_t samples = 0;
  for (const Plane& plane : file.picture.channels) {
    const std::int64_t at_top = samples_at_top(plane);
    samples += plane.size().area_px();
    if (at_top > kFewClipped) clipped += at_top;
  }
  if (static_cast<double>(clipped) > kClippedShare * static_cast<double>(samples)) {
    out.push_back(fmt::format(
        "{} samples ({:.2g}%) are clipped at the brightest value: nothing can be restored there, "
        "and edges beside them may ring. Stack with --finish none into a FITS file, or expose less",
        clipped, 100.0 * static_cast<double>(clipped) / static_cast<double>(samples)));
  }
  return out;
}

}  // namespace

FinishInput read_finish_input(const std::filesystem::path& path) {
  files::PictureFile file = files::read_picture(
      path, [&path](Size size, int channels) { check_memory(path, size, channels); });
  check(path, file);
  FinishInput input;
  input.warnings = warnings_of(file);
  input.stretched = file.stretched;
  input.picture = std::move(file.picture);
  const std::vector<PlaneView> channels = input.picture.view().channels;
  if (file.format == files::Format::fits) {
    if (auto measured = read_measurements(path, channels.size(), input.picture.size())) {
      input.measured = std::move(*measured);
      input.has_halves = true;
      measure_places(input);
      input.cards = read_stack_cards(path);
      return input;
    }
    const int images = files::count_fits_images(path);
    if (images > 1) {
      throw cannot_finish(
          path,
          fmt::format("it holds {} images; save the one to finish in a separate file", images));
    }
  }
  input.measured = finish::measurements_of_picture(channels);
  return input;
}

void measure_places(FinishInput& input) {
  if (input.measured.covered.empty() || !input.has_halves) return;
  std::vector<PlaneView> noise;
  for (const Plane& plane : input.measured.noise) noise.push_back(plane.view());
  input.measured.places =
      finish::frc_by_place(input.picture.view().channels, noise, input.measured.covered.view());
}

}  // namespace lull::run
