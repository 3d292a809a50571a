#include "desk/picture_response.h"

#include <algorithm>
#include <vector>

#include "files/picture_file.h"
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
  const files::PictureFile stored = files::read_picture(file);
  const files::PictureView picture = stored.picture.view();
  const int longer = std::max(picture.size().width_px, picture.size().height_px);
  const auto levels = stored.stretched ? finish::Levels{} : finish::levels_of(picture.channels);
  return jpeg_response(
      report::toned(picture, levels,
                    stored.stretched ? files::Transfer::screen : files::Transfer::linear,
                    (longer + longest_px - 1) / longest_px),
      kSmallQuality);
}

}  // namespace lull::desk
