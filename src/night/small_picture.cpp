#include "night/small_picture.h"

#include <algorithm>

#include "files/bitmap.h"
#include "report/base64.h"
#include "report/tone.h"

namespace lull::night {

namespace {

constexpr int kQuality = 85;

}  // namespace

std::string small_picture(const run::Finished& finished) {
  const files::PictureView view = finished.picture.view();
  const int longest = std::max(view.size().width_px, view.size().height_px);
  const int reduction = std::max(1, (longest + kSmallPicture_px - 1) / kSmallPicture_px);
  const bool is_linear = finished.transfer == files::Transfer::linear;
  const files::Bitmap bitmap = report::toned(
      view, is_linear ? finished.levels : finish::Levels{0, 1}, finished.transfer, reduction);
  return "data:image/jpeg;base64," + report::base64(files::encode_jpeg(bitmap, kQuality));
}

}  // namespace lull::night
