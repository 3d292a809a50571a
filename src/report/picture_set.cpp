#include "report/picture_set.h"

#include <algorithm>

#include "core/parallel.h"
#include "files/bitmap.h"
#include "report/base64.h"

namespace lull::report {

namespace {

constexpr int kJpegQuality = 92;
constexpr int kMostReduction = 64;
// PNG halves the samples of a good stack at best: above, trying it would only cost time.
constexpr double kLeastPngShare = 0.3;

bool is_linear(const PictureToShow& shown) { return shown.transfer == files::Transfer::linear; }

std::vector<std::string> encoded(const std::vector<PictureToShow>& pictures,
                                 const finish::Levels& levels, int reduction, Coding coding) {
  std::vector<std::string> uris(pictures.size());
  parallel_for(static_cast<std::int64_t>(pictures.size()), [&](std::int64_t n) {
    const auto i = static_cast<std::size_t>(n);
    const PictureToShow& shown = pictures[i];
    const files::Bitmap bitmap = toned(
        shown.picture, is_linear(shown) ? levels : finish::Levels{0, 1}, shown.transfer, reduction);
    uris[i] = coding == Coding::png
                  ? "data:image/png;base64," + base64(files::encode_png(bitmap))
                  : "data:image/jpeg;base64," + base64(files::encode_jpeg(bitmap, kJpegQuality));
  });
  return uris;
}

double samples_of(const std::vector<PictureToShow>& pictures) {
  double sum = 0;
  for (const PictureToShow& shown : pictures) {
    sum += static_cast<double>(shown.picture.size().area_px()) *
           static_cast<double>(shown.picture.channels.size());
  }
  return sum;
}

std::size_t length_of(const std::vector<std::string>& uris) {
  std::size_t sum = 0;
  for (const std::string& uri : uris) sum += uri.size();
  return sum;
}

}  // namespace

PictureSet picture_set(const std::vector<PictureToShow>& pictures, std::size_t most_bytes) {
  PictureSet out;
  for (const PictureToShow& shown : pictures) {
    if (!is_linear(shown)) continue;
    out.levels = shown.levels ? *shown.levels : finish::levels_of(shown.picture.channels);
  }
  const bool png_may_fit =
      kLeastPngShare * 4 / 3 * samples_of(pictures) < static_cast<double>(most_bytes);
  if (png_may_fit) {
    out.uris = encoded(pictures, out.levels, 1, Coding::png);
    if (length_of(out.uris) <= most_bytes) return out;
  }
  out.coding = Coding::jpeg;
  for (out.reduction = 1; out.reduction < kMostReduction; ++out.reduction) {
    out.uris = encoded(pictures, out.levels, out.reduction, Coding::jpeg);
    if (length_of(out.uris) <= most_bytes) break;
  }
  return out;
}

}  // namespace lull::report
