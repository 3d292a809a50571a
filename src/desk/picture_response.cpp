#include "desk/picture_response.h"

#include <malloc.h>

#include <algorithm>
#include <vector>

#include "desk/band_reduction.h"
#include "files/read_bands.h"
#include "finish/levels.h"
#include "report/tone.h"

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
  BandReduction reduction;
  bool stretched = false;
  files::read_bands(
      file, {[&](const files::StoredFacts& facts) {
               stretched = facts.stretched;
               const std::int64_t longer = std::max(facts.size.width_px, facts.size.height_px);
               const std::int64_t side = (longer + longest_px - 1) / longest_px;
               reduction.begin(facts, facts.size.area_px() / (side * side));
             },
             [&](const files::PictureView& band, int y0) { reduction.take(band, y0); }});
  const files::PictureView picture = reduction.picture().view();
  const auto levels = stretched ? finish::Levels{} : finish::levels_of(picture.channels);
  const auto transfer = stretched ? files::Transfer::screen : files::Transfer::linear;
  Response out = jpeg_response(report::toned(picture, levels, transfer, 1), kSmallQuality);
  ::malloc_trim(0);  // bands of large pictures are not needed again
  return out;
}

}  // namespace lull::desk
