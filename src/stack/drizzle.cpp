#include "stack/drizzle.h"

#include <algorithm>

#include "align/field_kernels.h"
#include "core/parallel.h"

namespace lull::stack {

namespace {

constexpr float kFadePx = 12.0F;
constexpr int kBandRows = 16;

// Length that two intervals share whose middles are `apart`.
struct Overlap {
  float reach;  ///< half the sum of their lengths
  float most;   ///< the shorter one's length

  float operator()(float apart) const { return std::clamp(reach - apart, 0.0F, most); }
};

}  // namespace

struct Drizzle::Rows {
  std::vector<float> x, y, weight;
};

double Enlargement::noise_correlation() const {
  const double r = pixfrac * scale;
  return r >= 1 ? r / (1 - 1 / (3 * r)) : 1 / (1 - r / 3);
}

Drizzle::Drizzle(Size reference, int channels, Enlargement enlargement)
    : enlargement_(enlargement),
      grid_(reference, enlargement.scale),
      sums_(static_cast<std::size_t>(channels)) {
  for (auto& halves : sums_) {
    for (Sums& sums : halves) sums = {Plane(grid_.size()), Plane(grid_.size())};
  }
}

void Drizzle::add(const std::vector<Contribution>& batch) {
  std::vector<Drops> drops;
  for (const Contribution& part : batch) {
    Drops one;
    one.plane = part.frame;
    one.field = part.field;
    one.weights = part.weights;
    one.gain = static_cast<float>(part.gain);
    one.sums = &sums_[0][static_cast<std::size_t>(part.half)];
    drops.push_back(one);
  }
  add(drops);
}

void Drizzle::add(const std::vector<ColourContribution>& batch) {
  std::vector<Drops> drops;
  for (const ColourContribution& part : batch) {
    const capture::Cfa cfa = part.frame->cfa();
    for (int c = 0; c < 3; ++c) {
      Drops one;
      one.plane = &part.frame->plane(c);
      for (int j = 0; j < 2 && cfa != capture::Cfa::none; ++j) {
        for (int i = 0; i < 2; ++i) one.has[j][i] = capture::cfa_colour_at(cfa, i, j) == c;
      }
      one.field = part.field;
      one.weights = part.weights;
      one.gain = static_cast<float>(part.gain);
      one.offset = offsets_[static_cast<std::size_t>(c)];
      one.sums = &sums_[static_cast<std::size_t>(c)][static_cast<std::size_t>(part.half)];
      drops.push_back(one);
    }
  }
  add(drops);
}

void Drizzle::add(const std::vector<Drops>& batch) {
  const int height = grid_.size().height_px;
  const int bands = (height + kBandRows - 1) / kBandRows;
  parallel_for(bands, [&](std::int64_t band) {
    Rows rows;
    const int first = static_cast<int>(band) * kBandRows;
    for (const Drops& drops : batch) {
      for (int row = first; row < std::min(first + kBandRows, height); ++row)
        add_row(drops, row, rows);
    }
  });
}

// Asks for each pixel which drops overlap it. Seen from the frame a pixel is a square of side
// 1 / scale, so these are at most the four around its middle.
void Drizzle::add_row(const Drops& drops, int row, Rows& rows) const {
  const Size frame = drops.plane->size();
  const std::ptrdiff_t stride = drops.plane->stride_elems();
  grid_.coordinates(*drops.field, row, rows.x, rows.y);
  for (float& x : rows.x) x += static_cast<float>(drops.offset.x_px);
  for (float& y : rows.y) y += static_cast<float>(drops.offset.y_px);
  grid_.expand(*drops.field, *drops.weights, row, rows.weight);
  align::kernels::fade_edges()(rows.x.data(), rows.y.data(), static_cast<float>(frame.width_px - 1),
                               static_cast<float>(frame.height_px - 1), kFadePx,
                               grid_.size().width_px, rows.weight.data());
  const auto pixel = static_cast<float>(1 / enlargement_.scale);
  const auto drop = static_cast<float>(enlargement_.pixfrac);
  const Overlap overlap{(pixel + drop) / 2, std::min(pixel, drop)};
  const float per_pixel = 1 / (pixel * pixel);
  float* light = drops.sums->light.row(row);
  float* total = drops.sums->weight.row(row);
  for (std::size_t k = 0; k < rows.x.size(); ++k) {
    if (rows.weight[k] <= 0) continue;  // so the middle lies inside of the frame
    const int x0 = static_cast<int>(rows.x[k]);
    const int y0 = static_cast<int>(rows.y[k]);
    const float tx = rows.x[k] - static_cast<float>(x0);
    const float ty = rows.y[k] - static_cast<float>(y0);
    const float across[2] = {overlap(tx), overlap(1 - tx)};
    const float down[2] = {overlap(ty), overlap(1 - ty)};
    const float* at = drops.plane->origin() + y0 * stride + x0;
    float sum = 0;
    float area = 0;
    for (int j = 0; j < 2; ++j) {
      for (int i = 0; i < 2; ++i) {
        if (!drops.has[(y0 + j) & 1][(x0 + i) & 1]) continue;
        const float shared = across[i] * down[j];
        sum += shared * at[j * stride + i];
        area += shared;
      }
    }
    const float weight = rows.weight[k] * per_pixel;
    light[k] += weight * drops.gain * sum;
    total[k] += weight * area;
  }
}

Plane Drizzle::quotient(const Plane& light, const Plane& weight, PlaneView otherwise) const {
  Plane out(light.size());
  Plane fallback;
  for (int y = 0; y < out.height(); ++y) {
    for (int x = 0; x < out.width(); ++x) {
      const float w = weight.row(y)[x];
      if (w > 0) {
        out.row(y)[x] = light.row(y)[x] / w;
        continue;
      }
      if (fallback.empty()) fallback = grid_.enlarged(otherwise);
      out.row(y)[x] = fallback.row(y)[x];
    }
  }
  return out;
}

Plane Drizzle::mean(int channel, PlaneView otherwise) const {
  const auto& halves = sums_[static_cast<std::size_t>(channel)];
  Plane light = Plane::copy_of(halves[0].light.view());
  lull::add(light.view(), halves[1].light.view());
  return quotient(light, weight(channel), otherwise);
}

Plane Drizzle::half_mean(int channel, int half, PlaneView otherwise) const {
  const Sums& sums = sums_[static_cast<std::size_t>(channel)][static_cast<std::size_t>(half)];
  return quotient(sums.light, sums.weight, otherwise);
}

Plane Drizzle::weight(int channel) const {
  const auto& halves = sums_[static_cast<std::size_t>(channel)];
  Plane out = Plane::copy_of(halves[0].weight.view());
  lull::add(out.view(), halves[1].weight.view());
  return out;
}

Drizzle Drizzle::copy() const {
  Drizzle out;
  out.enlargement_ = enlargement_;
  out.grid_ = grid_;
  out.offsets_ = offsets_;
  out.sums_.resize(sums_.size());
  for (std::size_t c = 0; c < sums_.size(); ++c) {
    for (std::size_t h = 0; h < 2; ++h) {
      out.sums_[c][h] = {Plane::copy_of(sums_[c][h].light.view()),
                         Plane::copy_of(sums_[c][h].weight.view())};
    }
  }
  return out;
}

}  // namespace lull::stack
