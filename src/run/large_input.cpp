#include "run/large_input.h"

#include <fmt/format.h>

#include <utility>

#include "core/error.h"
#include "files/fits_cards.h"
#include "run/linear_file.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

files::FitsBoxes::Image fitting(const std::filesystem::path& path,
                                const files::FitsBoxes::Image& image,
                                const files::FitsBoxes::Image& light, std::size_t channels,
                                const char* name) {
  if (image.channels == 0 || (image.size == light.size && image.channels == channels)) return image;
  throw InputError(
      fmt::format("cannot use '{}': its extension {} does not fit its picture; use the linear "
                  "mosaic as `lull mosaic` wrote it",
                  path.string(), name));
}

}  // namespace

LargeInput::LargeInput(const std::filesystem::path& path) : file_(path), light_(file_.first()) {
  noise_ = fitting(path, file_.named("NOISE"), light_, light_.channels, "NOISE");
  cover_ = fitting(path, file_.named("COVER"), light_, 1, "COVER");
  if (!has_halves()) return;
  if (auto curves = read_curves(path)) {
    rest.measured = std::move(*curves);
    rest.has_halves = true;
    rest.cards = read_stack_cards(path);
  } else {
    noise_ = {};
  }
}

LargeInput::Part LargeInput::read_light(const Box& box) {
  Part out;
  for (std::size_t c = 0; c < channels(); ++c)
    out.light.channels.push_back(file_.read(light_, c, box));
  out.covered = file_.read(cover_, 0, box);
  return out;
}

LargeInput::Part LargeInput::read(const Box& box) {
  Part out = read_light(box);
  for (std::size_t c = 0; has_halves() && c < channels(); ++c)
    out.noise.push_back(file_.read(noise_, c, box));
  return out;
}

bool is_large_mosaic(const std::filesystem::path& path) {
  if (!files::is_fits(path)) return false;
  files::FitsBoxes file(path);
  const files::FitsBoxes::Image light = file.first();
  return light.channels > 0 && light.size.area_px() > kMostWholePx &&
         file.named("COVER").channels == 1;
}

FinishInput whole_of(LargeInput& input) {
  const Size size = input.size();
  LargeInput::Part all = input.read({0, 0, size.width_px, size.height_px});
  FinishInput out;
  out.picture = std::move(all.light);
  out.has_halves = input.has_halves();
  if (out.has_halves) {
    out.measured = std::move(input.rest.measured);
    out.measured.noise = std::move(all.noise);
  } else {
    out.measured = finish::measurements_of_picture(out.picture.view().channels);
  }
  out.measured.covered = std::move(all.covered);
  measure_places(out);
  return out;
}

}  // namespace lull::run
