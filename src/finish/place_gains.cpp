#include "finish/place_gains.h"

#include <algorithm>
#include <cmath>

#include "core/cancel.h"
#include "core/parallel.h"
#include "spectrum/fft.h"

namespace lull::finish {

namespace {

constexpr double kFinest = 0.7072;  // cycles/px, along the diagonal
constexpr int kSteps = 1024;        // of gains up to that

// Which step of the gains belongs to each bin of a spectrum, row by row.
std::vector<int> steps_of(const spectrum::Spectrum& spectrum) {
  std::vector<int> out;
  for (int r = 0; r < spectrum.rows(); ++r) {
    for (int c = 0; c < spectrum.columns(); ++c) {
      const double f = std::hypot(spectrum.frequency_x(c), spectrum.frequency_y(r));
      out.push_back(static_cast<int>(std::lround(f / kFinest * (kSteps - 1))));
    }
  }
  return out;
}

std::vector<float> by_step(const std::vector<spectrum::FilterPoint>& gains) {
  std::vector<float> out;
  for (int i = 0; i < kSteps; ++i)
    out.push_back(static_cast<float>(spectrum::gain_at(gains, kFinest * i / (kSteps - 1))));
  return out;
}

// From 0 at either end to 1 in the middle; of two that are half a length apart the sum is 1.
std::vector<float> fading(int length) {
  std::vector<float> out;
  for (int i = 0; i < length; ++i)
    out.push_back(
        1 - std::abs((static_cast<float>(i) + 0.5F) / (0.5F * static_cast<float>(length)) - 1));
  return out;
}

// Filters squares of one size.
class SquareFilter {
 public:
  explicit SquareFilter(Size square)
      : around_{square.width_px + 2 * kAroundPlacePx, square.height_px + 2 * kAroundPlacePx},
        across_(window(around_.width_px)),
        down_(window(around_.height_px)),
        steps_(steps_of(spectrum::Spectrum(around_))) {}

  // What the square gains, with kAroundPlacePx around it that mean nothing.
  [[nodiscard]] Plane gained(PlaneView canvas, const PlaceGains& place) const {
    const Box& box = place.box;
    const Box around = {box.x0 - kAroundPlacePx, box.y0 - kAroundPlacePx, box.x1 + kAroundPlacePx,
                        box.y1 + kAroundPlacePx};
    spectrum::Fft fft(around_);
    spectrum::Spectrum spectrum =
        spectrum::windowed_spectrum(canvas.crop(around), across_, down_, fft);
    const std::vector<float> gains = by_step(place.beyond);
    const int* step = steps_.data();
    for (int r = 0; r < spectrum.rows(); ++r) {
      for (int c = 0; c < spectrum.columns(); ++c)
        spectrum.row(r)[c] *= gains[static_cast<std::size_t>(*step++)];
    }
    Plane out(around_);
    fft.inverse(spectrum, out.view());
    return out;
  }

 private:
  // 1 in the square; what is around it fades out.
  static std::vector<float> window(int length) {
    return spectrum::tukey_window(length, 2.0 * kAroundPlacePx / length);
  }

  Size around_;
  std::vector<float> across_;
  std::vector<float> down_;
  std::vector<int> steps_;
};

// Adds it where the square lies on `sharp`.
void add_faded(const Plane& gained, const Box& box, const Box& region, MutablePlaneView sharp) {
  const std::vector<float> across = fading(box.width_px());
  const std::vector<float> down = fading(box.height_px());
  const Box hit = box.intersection(region);
  for (int y = hit.y0; y < hit.y1; ++y) {
    const float* from = gained.row(y - box.y0 + kAroundPlacePx) + kAroundPlacePx;
    float* to = sharp.row(y - region.y0);
    const float weight = down[static_cast<std::size_t>(y - box.y0)];
    for (int x = hit.x0; x < hit.x1; ++x) {
      to[x - region.x0] += weight * across[static_cast<std::size_t>(x - box.x0)] * from[x - box.x0];
    }
  }
}

}  // namespace

void add_places(PlaneView canvas, const std::vector<PlaceGains>& places, MutablePlaneView sharp,
                int x0, int y0) {
  const Box region = {x0, y0, x0 + sharp.width_px, y0 + sharp.height_px};
  if (places.empty()) return;
  const Box& first = places.front().box;
  const SquareFilter filter({first.width_px(), first.height_px()});
  const int half_x = first.width_px() / 2;
  const int half_y = first.height_px() / 2;
  // Squares a whole side apart do not touch: four rounds, each side by side, in an order that does
  // not depend on the threads.
  std::vector<std::size_t> rounds[4];
  for (std::size_t i = 0; i < places.size(); ++i) {
    const Box& box = places[i].box;
    if (box.intersection(region).empty()) continue;
    const int column = std::abs(box.x0 - first.x0) / half_x % 2;
    const int row = std::abs(box.y0 - first.y0) / half_y % 2;
    rounds[2 * row + column].push_back(i);
  }
  for (const std::vector<std::size_t>& round : rounds) {
    parallel_for(std::ssize(round), [&](std::int64_t i) {
      stop_if_cancelled();
      const PlaceGains& place = places[round[static_cast<std::size_t>(i)]];
      add_faded(filter.gained(canvas, place), place.box, region, sharp);
    });
  }
}

}  // namespace lull::finish
