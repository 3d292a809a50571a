#include "lab/canvas.h"

#include <algorithm>
#include <cmath>

namespace lull::lab {

namespace {

constexpr int kBlock = 8;  // the inverse of a field is found at so many pixels' distance

struct Weights {
  explicit Weights(double t) {
    const double u = 1 - t;
    w[0] = static_cast<float>(u * u * u / 6);
    w[1] = static_cast<float>((3 * t * t * t - 6 * t * t + 4) / 6);
    w[2] = static_cast<float>((3 * u * u * u - 6 * u * u + 4) / 6);
    w[3] = static_cast<float>(t * t * t / 6);
  }

  float w[4];
};

float spline_at(const Plane& splines, double x, double y) {
  const double left = std::floor(x);
  const double top = std::floor(y);
  const Weights across(x - left);
  const Weights down(y - top);
  const int x0 =
      static_cast<int>(std::clamp(left - 1, 0.0, static_cast<double>(splines.width() - 4)));
  const int y0 =
      static_cast<int>(std::clamp(top - 1, 0.0, static_cast<double>(splines.height() - 4)));
  float sum = 0;
  for (int j = 0; j < 4; ++j) {
    const float* row = splines.row(y0 + j) + x0;
    sum += down.w[j] * (across.w[0] * row[0] + across.w[1] * row[1] + across.w[2] * row[2] +
                        across.w[3] * row[3]);
  }
  return sum;
}

// Place p with p + shift + field(p) = q. Fields change slowly, so that a few rounds converge.
Displacement place_seen_at(double qx, double qy, Displacement shift, const NodeField& field) {
  Displacement p{qx - shift.x_px, qy - shift.y_px};
  for (int round = 0; round < 6; ++round) {
    const Displacement local = field.at(p.x_px, p.y_px);
    p = {qx - shift.x_px - local.x_px, qy - shift.y_px - local.y_px};
  }
  return p;
}

}  // namespace

NodeField::NodeField(int width_px, int height_px)
    : columns((width_px + 2 * kRim + kStep - 1) / kStep + 1),
      rows((height_px + 2 * kRim + kStep - 1) / kStep + 1),
      x(static_cast<std::size_t>(columns * rows)),
      y(x.size()) {}

Displacement NodeField::at(double x_px, double y_px) const {
  const double c = std::clamp((x_px + kRim) / kStep, 0.0, columns - 1.0);
  const double r = std::clamp((y_px + kRim) / kStep, 0.0, rows - 1.0);
  const int c0 = std::min(static_cast<int>(c), columns - 2);
  const int r0 = std::min(static_cast<int>(r), rows - 2);
  const double tc = c - c0;
  const double tr = r - r0;
  const auto mix = [&](const std::vector<float>& v) {
    const auto i = static_cast<std::size_t>(std::ptrdiff_t{r0} * columns + c0);
    const auto j = i + static_cast<std::size_t>(columns);
    const auto d = [&v](std::size_t k) { return static_cast<double>(v[k]); };
    return (1 - tr) * ((1 - tc) * d(i) + tc * d(i + 1)) + tr * ((1 - tc) * d(j) + tc * d(j + 1));
  };
  return {mix(x), mix(y)};
}

Plane seen(const Plane& splines, const Canvas& canvas, Displacement shift, const NodeField& field) {
  Plane out(canvas.width_px, canvas.height_px);
  const int fine = canvas.fineness;
  const int columns = canvas.width_px / kBlock + 2;
  std::vector<Displacement> upper(static_cast<std::size_t>(columns));
  std::vector<Displacement> lower(upper.size());
  const auto solve = [&](int y, std::vector<Displacement>& row) {
    for (int c = 0; c < columns; ++c)
      row[static_cast<std::size_t>(c)] = place_seen_at(c * kBlock, y, shift, field);
  };
  solve(0, lower);
  for (int y0 = 0; y0 < canvas.height_px; y0 += kBlock) {
    std::swap(upper, lower);
    solve(y0 + kBlock, lower);
    for (int y = y0; y < std::min(y0 + kBlock, canvas.height_px); ++y) {
      const double ty = static_cast<double>(y - y0) / kBlock;
      float* row = out.row(y);
      for (int x = 0; x < canvas.width_px; ++x) {
        const auto c = static_cast<std::size_t>(x / kBlock);
        const double tx = static_cast<double>(x % kBlock) / kBlock;
        const auto mix = [&](double Displacement::*part) {
          return (1 - ty) * ((1 - tx) * upper[c].*part + tx * upper[c + 1].*part) +
                 ty * ((1 - tx) * lower[c].*part + tx * lower[c + 1].*part);
        };
        const double px = canvas.from_frame(mix(&Displacement::x_px)) - 0.5 * (fine - 1);
        const double py = canvas.from_frame(mix(&Displacement::y_px)) - 0.5 * (fine - 1);
        float sum = 0;
        for (int j = 0; j < fine; ++j) {
          for (int i = 0; i < fine; ++i) sum += spline_at(splines, px + i, py + j);
        }
        row[x] = sum / static_cast<float>(fine * fine);
      }
    }
  }
  return out;
}

}  // namespace lull::lab
