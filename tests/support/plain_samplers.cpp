#include "support/plain_samplers.h"

#include <algorithm>
#include <cmath>

namespace lull::test {

namespace {

constexpr double kFadePx = 1;

// Bilinear between nodes, which are at the centres of squares; constant beyond the outer ones.
double on_nodes(const align::ShiftField& field, const std::vector<float>& nodes, double x,
                double y) {
  const int side = align::ShiftField::kNodePx;
  const double c = std::clamp((x + 0.5) / side - 0.5, 0.0, field.columns() - 1.0);
  const double r = std::clamp((y + 0.5) / side - 0.5, 0.0, field.rows() - 1.0);
  double sum = 0;
  for (int j = 0; j < field.rows(); ++j) {
    for (int i = 0; i < field.columns(); ++i) {
      const double share = std::max(0.0, 1 - std::abs(c - i)) * std::max(0.0, 1 - std::abs(r - j));
      if (share > 0)
        sum +=
            share * static_cast<double>(
                        nodes[static_cast<std::size_t>(std::ptrdiff_t{j} * field.columns() + i)]);
    }
  }
  return sum;
}

// By the distance from the nearest edge.
double fade(double x, double y, Size frame) {
  const double nearest = std::min({x, frame.width_px - 1 - x, y, frame.height_px - 1 - y});
  return std::clamp(nearest / kFadePx, 0.0, 1.0);
}

// Calls body(x, y, frame x, frame y, weight) for every pixel of the grid.
template <class Body>
void for_pixels(const stack::Contribution& part, Displacement offset, double scale, Size grid,
                Size frame, const Body& body) {
  const align::ShiftField& field = *part.field;
  for (int y = 0; y < grid.height_px; ++y) {
    for (int x = 0; x < grid.width_px; ++x) {
      const double px = (x + 0.5) / scale - 0.5;
      const double py = (y + 0.5) / scale - 0.5;
      const double at_x =
          px + field.whole.x_px + on_nodes(field, field.local_x, px, py) + offset.x_px;
      const double at_y =
          py + field.whole.y_px + on_nodes(field, field.local_y, px, py) + offset.y_px;
      const double weight = on_nodes(field, *part.weights, px, py) * fade(at_x, at_y, frame);
      if (weight > 0) body(x, y, at_x, at_y, weight);
    }
  }
}

double keys(double t) {
  const double s = std::abs(t);
  if (s < 1) return 1.5 * s * s * s - 2.5 * s * s + 1;
  if (s < 2) return -0.5 * s * s * s + 2.5 * s * s - 4 * s + 2;
  return 0;
}

double sample(PlaneView frame, int x, int y) {
  return static_cast<double>(
      frame.row(std::clamp(y, 0, frame.height_px - 1))[std::clamp(x, 0, frame.width_px - 1)]);
}

// Adds the samples around each place, each weighted by kernel(distance x, distance y).
template <class Kernel>
void add_by(const Kernel& kernel, int reach, const stack::Contribution& part, int channel,
            Displacement offset, double scale, PlainSums& sums) {
  const stack::ChannelSamples& from = part.channels[static_cast<std::size_t>(channel)];
  const PlaneView frame = from.plane->view();
  for_pixels(part, offset, scale, sums.size, frame.size(),
             [&](int x, int y, double at_x, double at_y, double weight) {
               for (int j = static_cast<int>(at_y) - reach; j <= at_y + reach; ++j) {
                 for (int i = static_cast<int>(at_x) - reach; i <= at_x + reach; ++i) {
                   if (!from.at_parity[j & 1][i & 1]) continue;
                   const double share = weight * kernel(at_x - i, at_y - j);
                   sums.light_at(x, y) += share * part.gain * sample(frame, i, j);
                   sums.weight_at(x, y) += share;
                 }
               }
             });
}

}  // namespace

PlainSums::PlainSums(Size grid)
    : size(grid),
      light(static_cast<std::size_t>(grid.area_px())),
      weight(static_cast<std::size_t>(grid.area_px())) {}

double PlainSums::mean(int x, int y) const {
  return weight[at(x, y)] > 0 ? light[at(x, y)] / weight[at(x, y)] : 0;
}

void add_warped(const stack::Contribution& part, int channel, Displacement offset,
                PlainSums& sums) {
  add_by([](double x, double y) { return keys(x) * keys(y); }, 3, part, channel, offset, 1, sums);
}

void add_mosaic(const stack::Contribution& part, int channel, Displacement offset,
                PlainSums& sums) {
  const auto tent = [](double t) { return std::max(0.0, 1 - std::abs(t)); };
  add_by([&](double x, double y) { return tent(x) * tent(y); }, 2, part, channel, offset, 1, sums);
}

void add_drops(const stack::Contribution& part, int channel, Displacement offset, double scale,
               double pixfrac, PlainSums& sums) {
  // Lengths in pixels of the picture, of which a drop is pixfrac * scale wide.
  const double drop = pixfrac * scale;
  const auto shared = [&](double apart) {
    const double middle = apart * scale;
    return std::max(0.0, std::min(0.5, middle + drop / 2) - std::max(-0.5, middle - drop / 2));
  };
  add_by([&](double x, double y) { return shared(x) * shared(y); }, 2, part, channel, offset, scale,
         sums);
}

}  // namespace lull::test
