#include "files/share.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <string>
#include <vector>

#include "core/error.h"
#include "core/limit.h"
#include "files/atomic_file.h"
#include "files/bitmap.h"
#include "files/icc.h"

namespace lull::files {

namespace {

constexpr int kQuality = 92;

std::string ending_of(const std::filesystem::path& path) {
  std::string ending = path.extension().string();
  for (char& c : ending) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
  }
  return ending;
}

Bitmap bitmap_of(const PictureView& picture) {
  const Size size = picture.size();
  const std::size_t channels = picture.channels.size();
  Bitmap out{size.width_px, size.height_px, static_cast<int>(channels), {}};
  out.samples.resize(static_cast<std::size_t>(size.area_px()) * channels);
  std::size_t at = 0;
  for (int y = 0; y < size.height_px; ++y) {
    for (int x = 0; x < size.width_px; ++x) {
      for (const PlaneView& channel : picture.channels) {
        const float value = limited(channel.row(y)[x], 1.0F);
        out.samples[at++] = static_cast<std::uint8_t>(std::lround(value * 255.0F));
      }
    }
  }
  return out;
}

void check_jpeg_size(const std::filesystem::path& path, Size size) {
  if (std::max(size.width_px, size.height_px) <= kLongestJpegSide) return;
  throw OutputError(
      fmt::format("cannot write '{}': JPEG allows {} pixels a side, and this "
                  "picture has {} x {}; name it .png",
                  path.string(), kLongestJpegSide, size.width_px, size.height_px));
}

}  // namespace

void check_share_name(const std::filesystem::path& path) {
  const std::string ending = ending_of(path);
  if (ending == ".jpg" || ending == ".jpeg" || ending == ".png") return;
  throw UsageError(
      fmt::format("--share {}: give it a name that ends in .jpg, .jpeg or .png", path.string()));
}

void write_share(const std::filesystem::path& path, const PictureView& picture,
                 const ShareTags& tags) {
  check_share_name(path);
  check_picture(picture, {});
  const bool png = ending_of(path) == ".png";
  if (!png) check_jpeg_size(path, picture.size());
  const Bitmap bitmap = bitmap_of(picture);
  const std::vector<std::byte> bytes =
      png ? encode_png(bitmap)
          : encode_jpeg(bitmap, kQuality, {exif_segment(tags), srgb_profile(bitmap.channels)});
  AtomicFile file(path);
  file.write(bytes);
  file.commit();
}

}  // namespace lull::files
