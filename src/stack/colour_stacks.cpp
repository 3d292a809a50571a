#include "stack/colour_stacks.h"

#include <algorithm>
#include <cmath>

#include "align/field_kernels.h"
#include "core/parallel.h"

namespace lull::stack {

namespace {

constexpr int kBandRows = 16;
constexpr float kFadePx = 12.0F;

// Rows of one band at work.
struct Rows {
  std::vector<float> memory;
  float* x = nullptr;
  float* y = nullptr;
  float* sampled = nullptr;
  float* weight = nullptr;

  void resize(std::size_t pitch) {
    memory.resize(4 * pitch);
    x = memory.data();
    y = x + pitch;
    sampled = y + pitch;
    weight = sampled + pitch;
  }
};

// Adds the samples of one colour of a mosaic around each place.
void add_mosaic(const align::PaddedFrame& frame, capture::Cfa cfa, int channel, const Rows& rows,
                float gain, int count, float* light, float* weight) {
  const Size size = frame.size();
  const auto right = static_cast<float>(size.width_px - 1);
  const auto bottom = static_cast<float>(size.height_px - 1);
  bool has[2][2];  // whether a pixel of that parity has the colour
  for (int j = 0; j < 2; ++j) {
    for (int i = 0; i < 2; ++i) has[j][i] = capture::cfa_colour_at(cfa, i, j) == channel;
  }
  for (int k = 0; k < count; ++k) {
    if (rows.weight[k] <= 0) continue;
    const float x = std::clamp(rows.x[k], 0.0F, right);
    const float y = std::clamp(rows.y[k], 0.0F, bottom);
    const int x0 = static_cast<int>(x);
    const int y0 = static_cast<int>(y);
    const float tx = x - static_cast<float>(x0);
    const float ty = y - static_cast<float>(y0);
    const float* at = frame.origin() + y0 * frame.stride_elems() + x0;
    float sum = 0;
    float share = 0;
    for (int j = 0; j < 2; ++j) {
      for (int i = 0; i < 2; ++i) {
        if (!has[(y0 + j) & 1][(x0 + i) & 1]) continue;
        const float near = (i == 0 ? 1 - tx : tx) * (j == 0 ? 1 - ty : ty);
        sum += near * at[j * frame.stride_elems() + i];
        share += near;
      }
    }
    light[k] += rows.weight[k] * gain * sum;
    weight[k] += rows.weight[k] * share;
  }
}

// Fills places without any sample from those around them, ring by ring.
void close_holes(Plane& picture, const Plane& weight) {
  for (int y = 0; y < picture.height(); ++y) {
    for (int x = 0; x < picture.width(); ++x) {
      if (weight.row(y)[x] > 0) continue;
      float sum = 0;
      float found = 0;
      for (int reach = 1; reach <= 2 && found == 0; ++reach) {
        for (int j = std::max(y - reach, 0); j <= std::min(y + reach, picture.height() - 1); ++j) {
          for (int i = std::max(x - reach, 0); i <= std::min(x + reach, picture.width() - 1); ++i) {
            if (weight.row(j)[i] <= 0) continue;
            sum += picture.row(j)[i];
            ++found;
          }
        }
      }
      if (found > 0) picture.row(y)[x] = sum / found;
    }
  }
}

Plane quotient(const Plane& light, const Plane& weight) {
  Plane out(light.size());
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      const float w = weight.row(y)[x];
      out.row(y)[x] = w > 0 ? light.row(y)[x] / w : 0;
    }
  }
  close_holes(out, weight);
  return out;
}

}  // namespace

ColourStacks::ColourStacks(Size size) {
  for (auto& halves : sums_) {
    for (Sums& sums : halves) sums = {Plane(size), Plane(size)};
  }
}

void ColourStacks::add(const std::vector<ColourContribution>& batch) {
  const Size size = sums_[0][0].light.size();
  const int bands = (size.height_px + kBandRows - 1) / kBandRows;
  parallel_for(bands, [&](std::int64_t band) {
    Rows rows;
    const int first = static_cast<int>(band) * kBandRows;
    for (const ColourContribution& part : batch) {
      rows.resize(part.field->row_size());
      const Size frame = part.frame->size();
      const auto width = static_cast<float>(frame.width_px);
      const auto height = static_cast<float>(frame.height_px);
      for (int row = first; row < std::min(first + kBandRows, size.height_px); ++row) {
        for (int c = 0; c < 3; ++c) {
          const Shift& offset = offsets_[static_cast<std::size_t>(c)];
          part.field->coordinates(row, rows.x, rows.y);
          for (int x = 0; x < size.width_px; ++x) {
            rows.x[x] += static_cast<float>(offset.x_px);
            rows.y[x] += static_cast<float>(offset.y_px);
          }
          part.field->expand(*part.weights, row, rows.weight);
          align::kernels::fade_edges()(rows.x, rows.y, width - 1, height - 1, kFadePx,
                                       size.width_px, rows.weight);
          Sums& sums = sums_[static_cast<std::size_t>(c)][static_cast<std::size_t>(part.half)];
          const align::PaddedFrame& plane = part.frame->plane(c);
          const auto gain = static_cast<float>(part.gain);
          if (part.frame->cfa() != capture::Cfa::none) {
            add_mosaic(plane, part.frame->cfa(), c, rows, gain, size.width_px, sums.light.row(row),
                       sums.weight.row(row));
            continue;
          }
          align::kernels::sample_cubic()(plane.origin(), plane.stride_elems(), rows.x, rows.y,
                                         size.width_px, width, height, rows.sampled);
          align::kernels::add_weighted()(rows.sampled, rows.weight, gain, size.width_px,
                                         sums.light.row(row), sums.weight.row(row));
        }
      }
    }
  });
}

Plane ColourStacks::mean(int channel) const {
  const auto& halves = sums_[static_cast<std::size_t>(channel)];
  Plane light = Plane::copy_of(halves[0].light.view());
  Plane weight = Plane::copy_of(halves[0].weight.view());
  lull::add(light.view(), halves[1].light.view());
  lull::add(weight.view(), halves[1].weight.view());
  return quotient(light, weight);
}

Plane ColourStacks::half_mean(int channel, int half) const {
  const Sums& sums = sums_[static_cast<std::size_t>(channel)][static_cast<std::size_t>(half)];
  return quotient(sums.light, sums.weight);
}

ColourStacks ColourStacks::copy() const {
  ColourStacks out;
  out.offsets_ = offsets_;
  for (std::size_t c = 0; c < sums_.size(); ++c) {
    for (std::size_t h = 0; h < sums_[c].size(); ++h) {
      out.sums_[c][h] = {Plane::copy_of(sums_[c][h].light.view()),
                         Plane::copy_of(sums_[c][h].weight.view())};
    }
  }
  return out;
}

}  // namespace lull::stack
