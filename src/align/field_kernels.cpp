// Compiled once for each instruction set: see quality/row_kernels.cpp.
#include <stddef.h>

#include "core/kernel_lanes.h"

namespace lull::align::LULL_KERNEL_LEVEL {

namespace {

constexpr int kLanes = 8;                                            // neighbouring pixels
typedef int Ints __attribute__((vector_size(32)));                   // NOLINT: as in Floats
typedef int LooseInts __attribute__((vector_size(32), aligned(4)));  // NOLINT: any address

// Weights of the four samples around a place t in [0, 1) between the second and the third.
// Keys 1981, IEEE Transactions on Acoustics, Speech, and Signal Processing 29, 1153; a = -1/2.
template <class Real>
struct Cubic {
  explicit Cubic(Real t)
      : before(((1.0F - 0.5F * t) * t - 0.5F) * t),
        here((1.5F * t - 2.5F) * t * t + 1.0F),
        after(((2.0F - 1.5F * t) * t + 0.5F) * t),
        beyond((0.5F * t - 0.5F) * t * t) {}

  Real before, here, after, beyond;
};

inline float sample_one(const float* at, ptrdiff_t stride, float tx, float ty) {
  const Cubic<float> wx(tx);
  const Cubic<float> wy(ty);
  const auto along = [&](const float* row) {
    return wx.before * row[0] + wx.here * row[1] + wx.after * row[2] + wx.beyond * row[3];
  };
  return wy.before * along(at) + wy.here * along(at + stride) + wy.after * along(at + 2 * stride) +
         wy.beyond * along(at + 3 * stride);
}

// The four weights put where the lane's samples are: at the common first sample (offset 0) or
// one further (offset 1, all bits of `further` set).
struct SpreadCubic {
  static constexpr int kCount = 5;

  SpreadCubic(Floats t, Ints further) {
    const Cubic<Floats> w(t);
    const Floats none = {};
    tap[0] = further ? none : w.before;
    tap[1] = further ? w.before : w.here;
    tap[2] = further ? w.here : w.after;
    tap[3] = further ? w.after : w.beyond;
    tap[4] = further ? w.beyond : none;
  }

  Floats tap[kCount];
};

// Weights and samples as they are where all lanes begin at the common first sample.
struct PlainCubic {
  static constexpr int kCount = 4;

  explicit PlainCubic(Floats t) {
    const Cubic<Floats> w(t);
    tap[0] = w.before;
    tap[1] = w.here;
    tap[2] = w.after;
    tap[3] = w.beyond;
  }

  Floats tap[kCount];
};

// Every kSpacing-th sample from `at` on.
template <int kSpacing>
Floats load_lanes(const float* at) {
  if constexpr (kSpacing == 1) return load(at);
  // The last sample is not wanted, and may not be there.
  return __builtin_shufflevector(load(at), load(at + kLanes - 1), 0, 2, 4, 6, 9, 11, 13, 15);
}

template <int kSpacing, class Taps>
Floats sample_lanes(const float* at, ptrdiff_t stride, const Taps& wx, const Taps& wy) {
  Floats sum = {};
  for (int r = 0; r < Taps::kCount; ++r) {
    const float* row = at + r * stride;
    Floats along = wx.tap[0] * load_lanes<kSpacing>(row);
    for (int c = 1; c < Taps::kCount; ++c) along += wx.tap[c] * load_lanes<kSpacing>(row + c);
    sum += wy.tap[r] * along;
  }
  return sum;
}

// Folded by halves: lane by lane the compiler takes each value out of the vector in turn.
inline int smallest(Ints values) {
  const auto fold = [](Ints a, Ints b) { return a < b ? a : b; };
  values = fold(values, __builtin_shufflevector(values, values, 4, 5, 6, 7, 0, 1, 2, 3));
  values = fold(values, __builtin_shufflevector(values, values, 2, 3, 0, 1, 6, 7, 4, 5));
  return fold(values, __builtin_shufflevector(values, values, 1, 0, 3, 2, 5, 4, 7, 6))[0];
}

inline float limited(float value, float limit) {
  const float low = value < -1.0F ? -1.0F : value;
  return low > limit ? limit : low;
}

inline Floats limited(Floats value, float limit) {
  const Floats lowest = Floats{} - 1.0F;
  const Floats highest = Floats{} + limit;
  const Floats low = value < lowest ? lowest : value;
  return low > highest ? highest : low;
}

inline bool all_zero(Ints values) {
  values |= __builtin_shufflevector(values, values, 4, 5, 6, 7, 0, 1, 2, 3);
  values |= __builtin_shufflevector(values, values, 2, 3, 0, 1, 6, 7, 4, 5);
  return (values[0] | values[1]) == 0;
}

// Places of a block of lanes: the first of the four samples on either axis, and beyond the second.
struct Places {
  Ints ix, iy;
  Floats tx, ty;
};

// Shift fields are smooth: where the lanes' samples are kSpacing apart, or one more, whole vectors
// can be loaded. @return whether they are.
template <int kSpacing>
bool sample_near(const float* first, ptrdiff_t stride, const Places& at, float* out) {
  const Ints lane = {0, 1, 2, 3, 4, 5, 6, 7};
  const Ints off_x = at.ix - kSpacing * lane;
  const int left = smallest(off_x);
  const int top = smallest(at.iy);
  const Ints further_x = off_x - left;
  const Ints further_y = at.iy - top;
  const float* from = first + top * stride + left;
  if (all_zero(further_x | further_y)) {
    store(sample_lanes<kSpacing>(from, stride, PlainCubic(at.tx), PlainCubic(at.ty)), out);
    return true;
  }
  if (!all_zero((further_x | further_y) & ~1)) return false;
  store(sample_lanes<kSpacing>(from, stride, SpreadCubic(at.tx, further_x != 0),
                               SpreadCubic(at.ty, further_y != 0)),
        out);
  return true;
}

}  // namespace

void expand_nodes(const float* LULL_RESTRICT low, const float* LULL_RESTRICT high, float share,
                  int columns, float* LULL_RESTRICT out) {
  const auto node = [&](int c) { return low[c] + share * (high[c] - low[c]); };
  constexpr int kHalf = kLanes / 2;
  const Floats step = {0.0625F, 0.1875F, 0.3125F, 0.4375F, 0.5625F, 0.6875F, 0.8125F, 0.9375F};
  float left = node(0);
  for (int x = 0; x < kHalf; ++x) out[x] = left;
  for (int c = 0; c + 1 < columns; ++c) {
    const float right = node(c + 1);
    store(left + step * (right - left), out + kHalf + ptrdiff_t{c} * kLanes);
    left = right;
  }
  for (int x = columns * kLanes - kHalf; x < columns * kLanes; ++x) out[x] = left;
}

void add_place(float whole_x, float whole_y, int count, float* LULL_RESTRICT x,
               float* LULL_RESTRICT y) {
  for (int i = 0; i < count; ++i) {
    x[i] += static_cast<float>(i) + whole_x;
    y[i] += whole_y;
  }
}

void inside(const float* LULL_RESTRICT x, const float* LULL_RESTRICT y,
            const float* LULL_RESTRICT also, float right, float bottom, int count,
            float* LULL_RESTRICT valid) {
  for (int i = 0; i < count; ++i) {
    const bool in = (x[i] >= 0.0F) & (x[i] <= right) & (y[i] >= 0.0F) & (y[i] <= bottom);
    valid[i] = in ? also[i] : 0.0F;
  }
}

// Samples of eight neighbours at whole places of an image: mostly neighbours there too, or off by
// one. One sample beyond the places must be readable.
inline Floats samples_at(const float* image, ptrdiff_t stride, Ints x, Ints y) {
  const Ints lane = {0, 1, 2, 3, 4, 5, 6, 7};
  const Ints off_x = x - lane;
  const int left = smallest(off_x);
  const int top = smallest(y);
  const Ints further_x = off_x - left;
  const Ints further_y = y - top;
  const float* at = image + top * stride + left;
  if (all_zero(further_x | further_y)) return load(at);
  if (all_zero((further_x | further_y) & ~1)) {
    const Floats upper = further_x != 0 ? load(at + 1) : load(at);
    const Floats lower = further_x != 0 ? load(at + stride + 1) : load(at + stride);
    return further_y != 0 ? lower : upper;
  }
  Floats out = {};
  for (int i = 0; i < kLanes; ++i) out[i] = image[y[i] * stride + x[i]];
  return out;
}

void outside_bounds(const float* LULL_RESTRICT image, ptrdiff_t stride_elems,
                    const float* LULL_RESTRICT x, const float* LULL_RESTRICT y,
                    const float* LULL_RESTRICT low, const float* LULL_RESTRICT high, float factor,
                    float margin, float width, float height, int count, int* LULL_RESTRICT outside,
                    int* LULL_RESTRICT any) {
  const Floats zero = {};
  Ints all = {};
  int start = 0;
  for (; start + kLanes <= count; start += kLanes) {
    const Floats px = load(x + start) + 0.5F;
    const Floats py = load(y + start) + 0.5F;
    const Ints in = (px >= 0.0F) & (px < width) & (py >= 0.0F) & (py < height);
    const Ints at_x = __builtin_convertvector(in ? px : zero, Ints);
    const Ints at_y = __builtin_convertvector(in ? py : zero, Ints);
    const Floats light = factor * samples_at(image, stride_elems, at_x, at_y);
    const Ints within =
        (light <= load(high + start) + margin) & (light >= load(low + start) - margin);
    const Ints beyond = in & ~within & 1;
    *reinterpret_cast<LooseInts*>(outside + start) = beyond;
    all |= beyond;
  }
  *any = all_zero(all) ? 0 : 1;
  for (int i = start; i < count; ++i) {
    const float px = x[i] + 0.5F;
    const float py = y[i] + 0.5F;
    outside[i] = 0;
    if (!(px >= 0.0F && px < width && py >= 0.0F && py < height)) continue;
    const float light = factor * image[static_cast<int>(py) * stride_elems + static_cast<int>(px)];
    if (light <= high[i] + margin && light >= low[i] - margin) continue;
    outside[i] = 1;
    *any = 1;
  }
}

void any_beyond(const float* LULL_RESTRICT in, const float* LULL_RESTRICT low,
                const float* LULL_RESTRICT high, float factor, float margin, int count,
                int* LULL_RESTRICT any) {
  int all = 0;
  for (int i = 0; i < count; ++i) {
    const float light = factor * in[i];
    const bool within = (light <= high[i] + margin) & (light >= low[i] - margin);
    all |= within ? 0 : 1;
  }
  *any = all;
}

void fade_edges(const float* LULL_RESTRICT x, const float* LULL_RESTRICT y, float right,
                float bottom, float fade_px, int count, float* LULL_RESTRICT weight) {
  const float slope = 1.0F / fade_px;
  for (int i = 0; i < count; ++i) {
    const float across = x[i] < right - x[i] ? x[i] : right - x[i];
    const float down = y[i] < bottom - y[i] ? y[i] : bottom - y[i];
    const float ramp = slope * (across < down ? across : down);
    const float low = ramp < 0.0F ? 0.0F : ramp;
    weight[i] *= low > 1.0F ? 1.0F : low;
  }
}

void sample_cubic(const float* LULL_RESTRICT origin, ptrdiff_t stride_elems,
                  const float* LULL_RESTRICT x, const float* LULL_RESTRICT y, int count,
                  float limit_x, float limit_y, float* LULL_RESTRICT out) {
  // Indices are taken from the first readable sample, so that they are never negative.
  const float* first = origin - 2 * stride_elems - 2;
  constexpr int kFar = 3 * kLanes / 2;  // of the outer lanes: they are two apart
  int start = 0;
  for (; start + kLanes <= count; start += kLanes) {
    const Floats px = limited(load(x + start), limit_x) + 1.0F;
    const Floats py = limited(load(y + start), limit_y) + 1.0F;
    const Ints ix = __builtin_convertvector(px, Ints);
    const Ints iy = __builtin_convertvector(py, Ints);
    const Places at{ix, iy, px - __builtin_convertvector(ix, Floats),
                    py - __builtin_convertvector(iy, Floats)};
    const bool near = ix[kLanes - 1] - ix[0] < kFar
                          ? sample_near<1>(first, stride_elems, at, out + start)
                          : sample_near<2>(first, stride_elems, at, out + start);
    for (int i = 0; i < kLanes && !near; ++i) {
      out[start + i] =
          sample_one(first + iy[i] * stride_elems + ix[i], stride_elems, at.tx[i], at.ty[i]);
    }
  }
  for (int i = start; i < count; ++i) {
    const float px = limited(x[i], limit_x) + 1.0F;
    const float py = limited(y[i], limit_y) + 1.0F;
    const int ix = static_cast<int>(px);
    const int iy = static_cast<int>(py);
    out[i] = sample_one(first + iy * stride_elems + ix, stride_elems, px - static_cast<float>(ix),
                        py - static_cast<float>(iy));
  }
}

void add_products(const float* LULL_RESTRICT frame, const float* LULL_RESTRICT reference,
                  const float* LULL_RESTRICT gradient_x, const float* LULL_RESTRICT gradient_y,
                  const float* LULL_RESTRICT curvature, const float* LULL_RESTRICT valid,
                  float gain, int count, float* LULL_RESTRICT sums, ptrdiff_t pitch) {
  float* sum_e = sums;
  float* sum_ex = sums + pitch;
  float* sum_ey = sums + 2 * pitch;
  float* sum_ee = sums + 3 * pitch;
  float* sum_reference = sums + 4 * pitch;
  float* sum_ec = sums + 5 * pitch;
  for (int i = 0; i < count; ++i) {
    const float e = valid[i] * (gain * frame[i] - reference[i]);
    sum_e[i] += e;
    sum_ex[i] += e * gradient_x[i];
    sum_ey[i] += e * gradient_y[i];
    sum_ee[i] += e * e;
    sum_reference[i] += valid[i] * reference[i];
    sum_ec[i] += e * curvature[i];
  }
}

void blur(const float* const* rows, const float* LULL_RESTRICT taps, int radius, int count,
          float* LULL_RESTRICT out) {
  constexpr int kBlock = 4 * kLanes;
  int start = 0;
  for (; start + kBlock <= count; start += kBlock) {
    Floats sums[4];
    for (int b = 0; b < 4; ++b) sums[b] = taps[0] * load(rows[radius] + start + b * kLanes);
    for (int k = 1; k <= radius; ++k) {
      const float* before = rows[radius - k] + start;
      const float* after = rows[radius + k] + start;
      for (int b = 0; b < 4; ++b)
        sums[b] += taps[k] * (load(before + b * kLanes) + load(after + b * kLanes));
    }
    for (int b = 0; b < 4; ++b) store(sums[b], out + start + b * kLanes);
  }
  for (int i = start; i < count; ++i) {
    float sum = taps[0] * rows[radius][i];
    for (int k = 1; k <= radius; ++k) sum += taps[k] * (rows[radius - k][i] + rows[radius + k][i]);
    out[i] = sum;
  }
}

void every(const float* in, int step, float factor, int count, float* out) {
  if (step == 2) {
    int start = 0;
    for (; start + kLanes <= count; start += kLanes)
      store(factor * load_lanes<2>(in + 2 * start), out + start);
    for (int i = start; i < count; ++i) out[i] = factor * in[2 * i];
    return;
  }
  for (int i = 0; i < count; ++i) out[i] = factor * in[ptrdiff_t{i} * step];
}

void add_weighted(const float* LULL_RESTRICT value, const float* LULL_RESTRICT weight, float gain,
                  int count, float* LULL_RESTRICT sum, float* LULL_RESTRICT total) {
  for (int i = 0; i < count; ++i) {
    sum[i] += weight[i] * gain * value[i];
    total[i] += weight[i];
  }
}

}  // namespace lull::align::LULL_KERNEL_LEVEL
