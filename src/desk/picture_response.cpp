#include "desk/picture_response.h"

#include <malloc.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <vector>

#include "files/read_bands.h"
#include "finish/levels.h"
#include "report/tone.h"
#include "run/reduction.h"

namespace lull::desk {

namespace {

constexpr int kSmallQuality = 88;

std::string text_of(const std::vector<std::byte>& bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

}  // namespace

Response jpeg_response(const files::Bitmap& bitmap, int quality) {
  Response out;
  out.type = "image/jpeg";
  out.body = text_of(files::encode_jpeg(bitmap, quality));
  return out;
}

Response png_response(const files::Bitmap& bitmap) {
  Response out;
  out.type = "image/png";
  out.body = text_of(files::encode_png(bitmap));
  return out;
}

Response small_picture_response(const std::string& file, int longest_px) {
  std::optional<run::Reduction> reduction;
  std::optional<run::PixelSample> sample;
  bool stretched = false;
  files::read_bands(file,
                    {[&](const files::StoredFacts& facts) {
                       stretched = facts.stretched;
                       const auto [width, height] = facts.size;
                       const double side =
                           std::ceil(static_cast<double>(std::max(width, height)) / longest_px);
                       reduction.emplace(facts.size, facts.channels,
                                         static_cast<double>(facts.size.area_px()) / (side * side));
                       sample.emplace(facts.size, facts.channels);
                     },
                     [&](const files::PictureView& band, int y0) {
                       Plane all(band.size());
                       for (int y = 0; y < all.height(); ++y)
                         std::fill_n(all.row(y), all.width(), 1.0F);
                       reduction->add(band, all.view(), 0, y0);
                       sample->add(band, 0, y0);
                     }});
  const auto levels =
      stretched ? finish::Levels{} : finish::levels_of(sample->picture().view().channels);
  const auto transfer = stretched ? files::Transfer::screen : files::Transfer::linear;
  const files::Picture small = reduction->picture();
  Response out = jpeg_response(report::toned(small.view(), levels, transfer, 1), kSmallQuality);
  ::malloc_trim(0);  // bands of large pictures are not needed again
  return out;
}

}  // namespace lull::desk
