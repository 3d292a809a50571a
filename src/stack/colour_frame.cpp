#include "stack/colour_frame.h"

#include <algorithm>
#include <cmath>
#include <vector>

namespace lull::stack {

namespace {

using capture::Chroma;

// Position of a luma coordinate among samples `step` apart, the first at `first`; clamped to the
// ends.
struct Between {
  int low = 0;
  int high = 0;
  float share = 0;  ///< of the high one
};

Between between(int at, double first, int step, int count) {
  const double place = std::clamp((at - first) / step, 0.0, static_cast<double>(count - 1));
  const int low = static_cast<int>(place);
  return {low, std::min(low + 1, count - 1), static_cast<float>(place - low)};
}

// Row of a colour difference at the places of the luma.
class Interpolated {
 public:
  Interpolated(const Plane& samples, const Chroma& chroma, int width_px)
      : samples_(samples), chroma_(chroma), mixed_(static_cast<std::size_t>(samples.width())) {
    for (int x = 0; x < width_px; ++x)
      columns_.push_back(between(x, chroma.first_x_px, chroma.columns, samples.width()));
  }

  void row(int y, std::vector<float>& out) {
    const Between rows = between(y, chroma_.first_y_px, chroma_.rows, samples_.height());
    for (std::size_t i = 0; i < mixed_.size(); ++i) {
      const float above = samples_.row(rows.low)[i];
      mixed_[i] = above + rows.share * (samples_.row(rows.high)[i] - above);
    }
    for (std::size_t x = 0; x < columns_.size(); ++x) {
      const float left = mixed_[static_cast<std::size_t>(columns_[x].low)];
      out[x] =
          left + columns_[x].share * (mixed_[static_cast<std::size_t>(columns_[x].high)] - left);
    }
  }

 private:
  const Plane& samples_;
  Chroma chroma_;
  std::vector<Between> columns_;
  std::vector<float> mixed_;
};

}  // namespace

void ColourFrame::assign(const capture::Frame& frame, const capture::CaptureInfo& info) {
  cfa_ = info.colour == capture::Colour::cfa ? info.cfa : capture::Cfa::none;
  if (info.colour == capture::Colour::yuv) {
    assign_yuv(frame, info);
    return;
  }
  for (int c = 0; c < frame.plane_count; ++c) {
    const auto i = static_cast<std::size_t>(c);
    planes_[i].assign(frame.planes[i], info.scale);
  }
}

// ITU-R BT.601-7, 2.5: luma is red * R + green * G + blue * B, with shares that sum to 1; the
// differences are (B - luma) / (2 (1 - blue)) and (R - luma) / (2 (1 - red)).
void ColourFrame::assign_yuv(const capture::Frame& frame, const capture::CaptureInfo& info) {
  const Size size = frame.size();
  const Chroma& chroma = info.chroma;
  std::array<Plane, 2> differences{Plane(frame.chroma[0].size()), Plane(frame.chroma[1].size())};
  for (std::size_t i = 0; i < 2; ++i)
    to_plane(frame.chroma[i], chroma.scale, differences[i].view());
  std::array<MutablePlaneView, 3> rgb;
  for (std::size_t c = 0; c < 3; ++c) rgb[c] = planes_[c].resize(size);
  to_plane(frame.planes[0], info.scale, rgb[1]);
  const auto width = static_cast<std::size_t>(size.width_px);
  std::vector<float> blue_difference(width);
  std::vector<float> red_difference(width);
  Interpolated blues(differences[0], chroma, size.width_px);
  Interpolated reds(differences[1], chroma, size.width_px);
  const auto to_blue = static_cast<float>(2 * (1 - chroma.blue));
  const auto to_red = static_cast<float>(2 * (1 - chroma.red));
  const double green = 1 - chroma.red - chroma.blue;
  const auto green_of_blue = static_cast<float>(chroma.blue / green) * to_blue;
  const auto green_of_red = static_cast<float>(chroma.red / green) * to_red;
  for (int y = 0; y < size.height_px; ++y) {
    blues.row(y, blue_difference);
    reds.row(y, red_difference);
    for (std::size_t x = 0; x < width; ++x) {
      const float luma = rgb[1].row(y)[x];
      rgb[0].row(y)[x] = luma + to_red * red_difference[x];
      rgb[1].row(y)[x] =
          luma - green_of_blue * blue_difference[x] - green_of_red * red_difference[x];
      rgb[2].row(y)[x] = luma + to_blue * blue_difference[x];
    }
  }
  for (align::PaddedFrame& plane : planes_) plane.repeat_edges();
}

ChannelSamples ColourFrame::samples(int channel) const {
  ChannelSamples out;
  out.plane = &plane(channel);
  for (int j = 0; j < 2 && cfa_ != capture::Cfa::none; ++j) {
    for (int i = 0; i < 2; ++i) out.at_parity[j][i] = capture::cfa_colour_at(cfa_, i, j) == channel;
  }
  return out;
}

void ColourFrame::scale_at(int x, int y, float factor) {
  for (std::size_t i = 0; i < plane_count(); ++i)
    planes_[i].set(x, y, factor * planes_[i].view().row(y)[x]);
}

}  // namespace lull::stack
