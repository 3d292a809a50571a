#include "mosaic/blend.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <iterator>
#include <memory>
#include <opencv2/imgproc.hpp>
#include <span>
#include <utility>

#include "core/parallel.h"
#include "mosaic/places.h"

namespace lull::mosaic {

namespace {

constexpr int kTilePx = 512;
constexpr double kFineSigmaPx = 3;  // of the border between bands
constexpr double kWideSigmaPx = 12;
constexpr int kWideStep = 4;
constexpr int kApronPx = 48;  // four of the wide one: as far as a tile sees beyond its edges
constexpr float kEdgePx = 3;  // of a panel that is not used: its frames ended there
constexpr std::size_t kBands = 3;
constexpr float kPreferred = 1000;  // times as deep as it lies

Box grown(const Box& box, int by) { return {box.x0 - by, box.y0 - by, box.x1 + by, box.y1 + by}; }

// A panel on a box of the mosaic.
struct Layer {
  std::vector<merge::Light> channels;
  Plane depth;       ///< how far inside the panel a pixel lies; 0 = not shown
  Plane preference;  ///< see MovedLight; empty: 0 everywhere
};

// Distance from the part of the panel that is used to its edges, as a share of its shorter side, so
// that large and small panels count alike.
float depth_at(Size panel, Displacement place) {
  const double side = std::min({place.x_px, panel.width_px - 1 - place.x_px, place.y_px,
                                panel.height_px - 1 - place.y_px}) -
                      static_cast<double>(kEdgePx);
  return side <= 0 ? 0.0F : static_cast<float>(side / std::min(panel.width_px, panel.height_px));
}

// Shows the panel in a row of the layer, from the pixel `from` on. @param at  where in the panel.
void show_row(const Sheet& sheet, const Blending& plan, PanelIndex panel,
              std::span<const Displacement> at, Place from, Layer& out) {
  const PanelMap& map = plan.maps[panel];
  for (std::size_t c = 0; c < plan.channels; ++c) {
    merge::Light& channel = out.channels[c];
    sheet.channels[c].light.read(at, channel.light.row(from.y) + from.x);
    if (plan.has_halves)
      sheet.channels[c].noise.front().read(at, channel.noise.row(from.y) + from.x);
  }
  for (std::size_t i = 0; i < at.size(); ++i) {
    const int x = from.x + static_cast<int>(i);
    out.depth.row(from.y)[x] = depth_at(map.panel, at[i]);
    const double radius2 = map.radius2(at[i]);
    for (std::size_t c = 0; c < plan.channels; ++c) {
      const Brightness& brightness = plan.brightness[c][panel];
      const auto factor = static_cast<float>(brightness.factor_at(radius2));
      const Sheet::Channel& range = sheet.channels[c];
      float& light = out.channels[c].light.row(from.y)[x];
      light = (std::clamp(light, range.darkest, range.brightest) +
               static_cast<float>(brightness.offset)) *
              factor;
      if (plan.has_halves) out.channels[c].noise.row(from.y)[x] *= factor;
    }
  }
}

Layer layer_of(const Sheet& sheet, const Blending& plan, PanelIndex panel, const Box& box) {
  const PanelMap& map = plan.maps[panel];
  const Size size{box.width_px(), box.height_px()};
  const Places places(map, {static_cast<double>(box.x0), static_cast<double>(box.y0)}, size);
  Layer out;
  out.depth = Plane(size);
  out.preference = plan.moved.preference(panel, box);
  for (std::size_t c = 0; c < plan.channels; ++c)
    out.channels.push_back({Plane(size), plan.has_halves ? Plane(size) : Plane()});
  parallel_for(size.height_px, [&](std::int64_t row) {
    std::vector<Displacement> at(static_cast<std::size_t>(size.width_px));
    places.row(static_cast<int>(row), at);
    // A little beyond the edge it goes on as in a mirror, for the bands.
    const auto is_near = [&](Displacement place) {
      return is_inside(map.panel, place, -2.0 * kApronPx);
    };
    const auto first = std::find_if(at.begin(), at.end(), is_near);
    const auto last = std::find_if(at.rbegin(), std::make_reverse_iterator(first), is_near).base();
    show_row(sheet, plan, panel, {first, last},
             {static_cast<int>(first - at.begin()), static_cast<int>(row)}, out);
  });
  return out;
}

bool is_shown(const Layer& layer) {
  for (int y = 0; y < layer.depth.height(); ++y) {
    const float* row = layer.depth.row(y);
    if (std::any_of(row, row + layer.depth.width(), [](float depth) { return depth > 0; }))
      return true;
  }
  return false;
}

cv::Mat as_mat(Plane& plane) {
  return {plane.height(), plane.width(), CV_32F, plane.row(0),
          static_cast<std::size_t>(plane.view().stride_elems) * sizeof(float)};
}

Plane smoothed(Plane& plane, double sigma_px) {
  Plane out(plane.size());
  cv::Mat to = as_mat(out);
  cv::GaussianBlur(as_mat(plane), to, {}, sigma_px, sigma_px, cv::BORDER_REFLECT);
  return out;
}

// The same with a wide blur, on a reduced picture: what differs goes into the next finer band.
Plane widely_smoothed(Plane& plane) {
  Plane out(plane.size());
  cv::Mat to = as_mat(out);
  cv::Mat small;
  cv::resize(as_mat(plane), small, {}, 1.0 / kWideStep, 1.0 / kWideStep, cv::INTER_AREA);
  cv::GaussianBlur(small, small, {}, kWideSigmaPx / kWideStep, kWideSigmaPx / kWideStep,
                   cv::BORDER_REFLECT);
  cv::resize(small, to, to.size(), 0, 0, cv::INTER_LINEAR);
  return out;
}

void subtract(Plane& from, const Plane& what) {
  for (int y = 0; y < from.height(); ++y)
    for (int x = 0; x < from.width(); ++x) from.row(y)[x] -= what.row(y)[x];
}

// fine, middle, wide; their sum is the plane.
std::array<Plane, kBands> bands_of(Plane& plane) {
  Plane fine_left = smoothed(plane, kFineSigmaPx);
  Plane wide = widely_smoothed(plane);
  Plane fine = Plane::copy_of(plane.view());
  subtract(fine, fine_left);
  subtract(fine_left, wide);
  return {std::move(fine), std::move(fine_left), std::move(wide)};
}

float preferred(const Layer& layer, int x, int y) {
  return layer.preference.empty() ? 0.0F : layer.preference.row(y)[x];
}

// Which layer lies deepest, an owner of moved light before all others: its number at each pixel.
std::size_t deepest_of(const std::vector<Layer>& layers, int x, int y) {
  const auto depth = [&](std::size_t i) {
    return layers[i].depth.row(y)[x] * (1 + kPreferred * preferred(layers[i], x, y));
  };
  std::size_t deepest = 0;
  for (std::size_t i = 1; i < layers.size(); ++i)
    if (depth(i) > depth(deepest)) deepest = i;
  return deepest;
}

// Of the wide band: by depth, but where light moved as the middle band.
void set_wide_weights(const std::vector<Layer>& layers,
                      std::vector<std::array<Plane, kBands>>& weights, int x, int y) {
  float depths = 0;
  float middle = 0;
  float moved = 0;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    depths += layers[i].depth.row(y)[x];
    middle += weights[i][1].row(y)[x];
    moved += preferred(layers[i], x, y);
  }
  const float share = middle > 0 ? std::min(moved, 1.0F) : 0.0F;
  for (std::size_t i = 0; i < layers.size(); ++i) {
    float& wide = weights[i][2].row(y)[x];
    wide = layers[i].depth.row(y)[x];
    if (share > 0) wide = std::lerp(wide / depths, weights[i][1].row(y)[x] / middle, share);
  }
}

// Weights of a layer in each band: by which layer lies deepest, smoothed as the band is, and for
// the wide band by depth.
std::vector<std::array<Plane, kBands>> weights_of(std::vector<Layer>& layers) {
  const Size size = layers.front().depth.size();
  std::vector<std::array<Plane, kBands>> out(layers.size());
  for (auto& weights : out) weights = {Plane(size), Plane(), Plane(size)};
  parallel_for(size.height_px, [&](std::int64_t row) {
    const int y = static_cast<int>(row);
    for (int x = 0; x < size.width_px; ++x) {
      const std::size_t deepest = deepest_of(layers, x, y);
      if (layers[deepest].depth.row(y)[x] > 0) out[deepest][0].row(y)[x] = 1;
    }
  });
  parallel_for(std::ssize(layers), [&](std::int64_t layer) {
    const auto i = static_cast<std::size_t>(layer);
    out[i][1] = widely_smoothed(out[i][0]);
    out[i][0] = smoothed(out[i][0], kFineSigmaPx);
    for (std::size_t band = 0; band < 2; ++band) {
      Plane& weight = out[i][band];
      for (int y = 0; y < size.height_px; ++y)
        for (int x = 0; x < size.width_px; ++x)
          if (layers[i].depth.row(y)[x] <= 0) weight.row(y)[x] = 0;
    }
  });
  parallel_for(size.height_px, [&](std::int64_t row) {
    for (int x = 0; x < size.width_px; ++x) set_wide_weights(layers, out, x, static_cast<int>(row));
  });
  return out;
}

// Sum over layers of weight x band over the sum of weights, band by band.
void add_bands(std::vector<std::array<Plane, kBands>>& bands,
               const std::vector<std::array<Plane, kBands>>& weights, Plane& out) {
  parallel_for(out.height(), [&](std::int64_t row) {
    const int y = static_cast<int>(row);
    for (int x = 0; x < out.width(); ++x) {
      float sum = 0;
      for (std::size_t band = 0; band < kBands; ++band) {
        float value = 0;
        float weight = 0;
        for (std::size_t i = 0; i < bands.size(); ++i) {
          const float w = weights[i][band].row(y)[x];
          value += w * bands[i][band].row(y)[x];
          weight += w;
        }
        if (weight > 0) sum += value / weight;
      }
      out.row(y)[x] = sum;
    }
  });
}

Plane blended(std::vector<Layer>& layers, const std::vector<std::array<Plane, kBands>>& weights,
              Plane& (*plane_of)(Layer&, std::size_t), std::size_t channel) {
  std::vector<std::array<Plane, kBands>> bands(layers.size());
  parallel_for(std::ssize(layers), [&](std::int64_t i) {
    const auto at = static_cast<std::size_t>(i);
    bands[at] = bands_of(plane_of(layers[at], channel));
  });
  Plane out(layers.front().depth.size());
  add_bands(bands, weights, out);
  return out;
}

// The tile without its apron; pixels that no panel shows are 0.
Tile trimmed(const Box& box, std::vector<merge::Light> channels, const std::vector<Layer>& layers) {
  const Box inner{kApronPx, kApronPx, kApronPx + box.width_px(), kApronPx + box.height_px()};
  Tile out{box, {}, Plane(box.width_px(), box.height_px())};
  for (int y = 0; y < out.covered.height(); ++y) {
    for (int x = 0; x < out.covered.width(); ++x) {
      for (const Layer& layer : layers)
        if (layer.depth.row(y + kApronPx)[x + kApronPx] > 0) out.covered.row(y)[x] = 1;
    }
  }
  const auto cut = [&](Plane& plane) {
    if (plane.empty()) return Plane();
    Plane part = Plane::copy_of(plane.view().crop(inner));
    for (int y = 0; y < part.height(); ++y)
      for (int x = 0; x < part.width(); ++x)
        if (out.covered.row(y)[x] == 0) part.row(y)[x] = 0;
    return part;
  };
  for (merge::Light& channel : channels)
    out.channels.push_back({cut(channel.light), cut(channel.noise)});
  return out;
}

Tile empty_tile(const Box& box, const Blending& plan) {
  const Size size{box.width_px(), box.height_px()};
  Tile out{box, {}, Plane(size)};
  for (std::size_t c = 0; c < plan.channels; ++c)
    out.channels.push_back({Plane(size), plan.has_halves ? Plane(size) : Plane()});
  return out;
}

Tile tile_of(const Blending& plan, const Box& box, std::vector<Layer> layers) {
  if (layers.empty()) return empty_tile(box, plan);
  if (layers.size() == 1) {
    std::vector<merge::Light> channels = std::move(layers.front().channels);
    return trimmed(box, std::move(channels), layers);
  }
  const auto weights = weights_of(layers);
  std::vector<merge::Light> channels;
  for (std::size_t c = 0; c < plan.channels; ++c) {
    Plane light = blended(
        layers, weights,
        [](Layer& layer, std::size_t at) -> Plane& { return layer.channels[at].light; }, c);
    Plane noise;
    if (plan.has_halves) {
      noise = blended(
          layers, weights,
          [](Layer& layer, std::size_t at) -> Plane& { return layer.channels[at].noise; }, c);
    }
    channels.push_back({std::move(light), std::move(noise)});
  }
  return trimmed(box, std::move(channels), layers);
}

// Squares of so many tiles, about as large as a panel.
constexpr int kBlockTiles = 4;

// All tiles of a mosaic, by blocks in snaking rows.
std::vector<Box> tiles_of(Size mosaic) {
  const int columns = (mosaic.width_px + kTilePx - 1) / kTilePx;
  const int rows = (mosaic.height_px + kTilePx - 1) / kTilePx;
  std::vector<Box> out;
  bool back = false;
  for (int top = 0; top < rows; top += kBlockTiles, back = !back) {
    const int blocks = (columns + kBlockTiles - 1) / kBlockTiles;
    for (int block = 0; block < blocks; ++block) {
      const int left = (back ? blocks - 1 - block : block) * kBlockTiles;
      for (int row = top; row < std::min(top + kBlockTiles, rows); ++row) {
        for (int column = left; column < std::min(left + kBlockTiles, columns); ++column) {
          const int x = column * kTilePx;
          const int y = row * kTilePx;
          out.push_back({x, y, std::min(x + kTilePx, mosaic.width_px),
                         std::min(y + kTilePx, mosaic.height_px)});
        }
      }
    }
  }
  return out;
}

}  // namespace

double bytes_of_tile(std::size_t channels, bool has_halves, std::size_t panels) {
  const double side = kTilePx + 2 * kApronPx;
  const double planes = static_cast<double>(channels) * (has_halves ? 2 : 1);
  // Of each panel: its samples, their bands one plane at a time, its weights, depth, preference.
  const double a_panel = planes + 2 * kBands + 3;
  return side * side * sizeof(float) * (static_cast<double>(panels) * a_panel + 2 * planes);
}

void blend(const Blending& plan,
           const std::function<std::shared_ptr<const Sheet>(PanelIndex)>& sheets,
           const std::function<void(const Tile&)>& take, const Progress& progress) {
  cv::setNumThreads(1);  // the loops around it have the threads
  std::vector<std::pair<PanelIndex, Box>> outlines;
  for (const PanelIndex panel : plan.group) outlines.emplace_back(panel, outline(plan.maps[panel]));
  const std::vector<Box> tiles = tiles_of(plan.mosaic);
  std::int64_t done = 0;
  for (const Box& box : tiles) {
    progress.step("joining", done++, std::ssize(tiles));
    const Box seen = grown(box, kApronPx);
    std::vector<Layer> layers;
    for (const auto& [panel, outline] : outlines) {
      if (outline.intersection(seen).empty()) continue;
      Layer layer = layer_of(*sheets(panel), plan, panel, seen);
      if (is_shown(layer)) layers.push_back(std::move(layer));
    }
    take(tile_of(plan, box, std::move(layers)));
  }
}

}  // namespace lull::mosaic
