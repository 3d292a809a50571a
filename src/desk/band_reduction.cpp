#include "desk/band_reduction.h"

#include <algorithm>

namespace lull::desk {

void BandReduction::begin(const files::StoredFacts& facts, std::int64_t most_px) {
  while (facts.size.area_px() / (std::int64_t{side_} * side_) > most_px) ++side_;
  side_ = std::max(1, std::min({side_, facts.size.width_px, facts.size.height_px}));
  picture_ = files::make_picture({facts.size.width_px / side_, facts.size.height_px / side_},
                                 static_cast<int>(facts.channels));
}

void BandReduction::take(const files::PictureView& band, int y0) {
  const auto [width, height] = picture_.size();
  const float share = 1.0F / static_cast<float>(side_ * side_);
  for (std::size_t c = 0; c < picture_.channels.size(); ++c) {
    for (int y = 0; y < band.size().height_px && (y0 + y) / side_ < height; ++y) {
      const float* from = band.channels[c].row(y);
      float* to = picture_.channels[c].row((y0 + y) / side_);
      for (int x = 0; x < width * side_; ++x) to[x / side_] += share * from[x];
    }
  }
}

}  // namespace lull::desk
