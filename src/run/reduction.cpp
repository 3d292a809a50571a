#include "run/reduction.h"

#include <algorithm>
#include <cmath>

namespace lull::run {

namespace {

constexpr std::int64_t kMostSamples = 1 << 20;

int parts(int px, int side) { return (px + side - 1) / side; }

Size reduced_size(Size size, int side) {
  return {parts(size.width_px, side), parts(size.height_px, side)};
}

int side_for(Size size, double most_px) {
  const double side = std::sqrt(static_cast<double>(size.area_px()) / most_px);
  return std::max(1, static_cast<int>(std::ceil(side)));
}

int step_for(Size size) {
  int step = 1;
  while (reduced_size(size, step).area_px() > kMostSamples) ++step;
  return step;
}

}  // namespace

Reduction::Reduction(Size picture, std::size_t channels, double most_px)
    : picture_(picture), side_(side_for(picture, most_px)), counts_(reduced_size(picture, side_)) {
  for (std::size_t c = 0; c < channels; ++c) sums_.emplace_back(counts_.size());
}

void Reduction::add(const files::PictureView& part, PlaneView covered, int x0, int y0) {
  for (int y = 0; y < covered.height_px; ++y) {
    const int row = (y0 + y) / side_;
    for (int x = 0; x < covered.width_px; ++x) {
      if (!(covered.row(y)[x] > 0)) continue;
      const int column = (x0 + x) / side_;
      counts_.row(row)[column] += 1;
      for (std::size_t c = 0; c < sums_.size(); ++c)
        sums_[c].row(row)[column] += part.channels[c].row(y)[x];
    }
  }
}

files::Picture Reduction::picture() const {
  files::Picture out;
  for (const Plane& sums : sums_) {
    Plane& plane = out.channels.emplace_back(sums.size());
    for (int y = 0; y < plane.height(); ++y) {
      for (int x = 0; x < plane.width(); ++x) {
        const float count = counts_.row(y)[x];
        if (count > 0) plane.row(y)[x] = sums.row(y)[x] / count;
      }
    }
  }
  return out;
}

Plane Reduction::covered() const {
  Plane out(counts_.size());
  for (int y = 0; y < out.height(); ++y) {
    const int rows = std::min(side_, picture_.height_px - y * side_);
    for (int x = 0; x < out.width(); ++x) {
      const int columns = std::min(side_, picture_.width_px - x * side_);
      out.row(y)[x] = counts_.row(y)[x] / static_cast<float>(rows * columns);
    }
  }
  return out;
}

PixelSample::PixelSample(Size picture, std::size_t channels) : step_(step_for(picture)) {
  for (std::size_t c = 0; c < channels; ++c)
    out_.channels.emplace_back(reduced_size(picture, step_));
}

void PixelSample::add(const files::PictureView& part, int x0, int y0) {
  const Size size = part.size();
  const int first_x = parts(x0, step_) * step_;
  const int first_y = parts(y0, step_) * step_;
  for (int y = first_y; y < y0 + size.height_px; y += step_) {
    for (int x = first_x; x < x0 + size.width_px; x += step_) {
      for (std::size_t c = 0; c < out_.channels.size(); ++c)
        out_.channels[c].row(y / step_)[x / step_] = part.channels[c].row(y - y0)[x - x0];
    }
  }
}

}  // namespace lull::run
