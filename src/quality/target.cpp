#include "quality/target.h"

#include <algorithm>
#include <array>
#include <numeric>
#include <optional>
#include <span>

#include "core/statistics.h"

namespace lull::quality {

namespace {

constexpr double kSkyQuantile = 0.2;
constexpr double kBrightQuantile = 0.999;
constexpr double kObjectShare = 0.125;  // of the way from sky to the brightest
constexpr double kDarkEdgeShare = 0.9;
// A frame of noise has no such contrast: its brightest per mille is near its sky.
constexpr double kLeastContrast = 3.0;

// The frame of median brightness: black and flashed frames do not decide.
PlaneView typical(const std::vector<PlaneView>& planes) {
  std::vector<std::pair<double, std::size_t>> order;
  for (std::size_t i = 0; i < planes.size(); ++i) {
    double sum = 0;
    for (int y = 0; y < planes[i].height_px; ++y) {
      sum += std::accumulate(planes[i].row(y), planes[i].row(y) + planes[i].width_px, 0.0);
    }
    order.emplace_back(sum, i);
  }
  std::sort(order.begin(), order.end());
  return planes[order[order.size() / 2].second];
}

std::vector<float> edge_samples(PlaneView plane) {
  std::vector<float> out;
  const int last_row = plane.height_px - 1;
  const int last_column = plane.width_px - 1;
  for (int x = 0; x <= last_column; ++x) {
    out.push_back(plane.at(x, 0));
    out.push_back(plane.at(x, last_row));
  }
  for (int y = 1; y < last_row; ++y) {
    out.push_back(plane.at(0, y));
    out.push_back(plane.at(last_column, y));
  }
  return out;
}

std::vector<float> all_samples(PlaneView plane) {
  std::vector<float> out;
  out.reserve(static_cast<std::size_t>(plane.size().area_px()));
  for (int y = 0; y < plane.height_px; ++y) {
    out.insert(out.end(), plane.row(y), plane.row(y) + plane.width_px);
  }
  return out;
}

// Of the pixels that are at least so bright.
std::optional<double> mean_from(PlaneView plane, float level) {
  constexpr std::size_t kLanes = 8;  // independent, so that additions overlap
  std::array<double, kLanes> sums{};
  std::array<double, kLanes> counts{};
  for (int y = 0; y < plane.height_px; ++y) {
    const std::span<const float> row(plane.row(y), static_cast<std::size_t>(plane.width_px));
    const auto add = [&](std::size_t x, std::size_t lane) {
      sums[lane] += row[x] >= level ? static_cast<double>(row[x]) : 0.0;
      counts[lane] += row[x] >= level ? 1.0 : 0.0;
    };
    std::size_t x = 0;
    for (; x + kLanes <= row.size(); x += kLanes) {
      for (std::size_t lane = 0; lane < kLanes; ++lane) add(x + lane, lane);
    }
    for (; x < row.size(); ++x) add(x, 0);
  }
  const double count = std::accumulate(counts.begin(), counts.end(), 0.0);
  if (count == 0) return std::nullopt;
  return std::accumulate(sums.begin(), sums.end(), 0.0) / count;
}

}  // namespace

std::string_view target_name(TargetKind kind) {
  return kind == TargetKind::disc ? "disc" : "field";
}

Target recognise_target(const std::vector<PlaneView>& reduced) {
  LULL_ASSERT(!reduced.empty());
  const PlaneView frame = typical(reduced);
  std::vector<float> values = all_samples(frame);
  const double sky = static_cast<double>(lower_quantile(values, kSkyQuantile));
  const double bright = static_cast<double>(lower_quantile(values, kBrightQuantile));
  const double low = static_cast<double>(lower_quantile(values, 0.01));
  const double object = sky + kObjectShare * (bright - sky);
  const std::vector<float> edge = edge_samples(frame);
  const auto dark = std::count_if(edge.begin(), edge.end(),
                                  [&](float v) { return static_cast<double>(v) < object; });
  const bool dark_edges =
      static_cast<double>(dark) >= kDarkEdgeShare * static_cast<double>(edge.size());
  const bool stands_out = bright - sky > kLeastContrast * (sky - low);
  if (!dark_edges || !stands_out) return {TargetKind::field, 0, 0, kObjectShare * bright};
  return {TargetKind::disc, sky, object, object};
}

double object_brightness(PlaneView reduced, const Target& target, std::vector<float>& scratch) {
  const auto level = static_cast<float>(target.object);
  if (target.kind == TargetKind::field) {
    const auto mean = mean_from(reduced, level);
    return mean ? *mean - target.sky : 0;
  }
  scratch.resize(static_cast<std::size_t>(reduced.size().area_px()) + 1);
  float* end = scratch.data();  // written at each pixel, moved on by those of the object
  for (int y = 0; y < reduced.height_px; ++y) {
    const float* row = reduced.row(y);
    for (int x = 0; x < reduced.width_px; ++x) {
      *end = row[x];
      end += row[x] >= level ? 1 : 0;
    }
  }
  float* first = scratch.data();
  if (first == end) return 0;
  first += (end - first) * 9 / 10;
  std::nth_element(scratch.data(), first, end);
  const double sum = std::accumulate(first, end, 0.0);
  return sum / static_cast<double>(end - first) - target.sky;
}

}  // namespace lull::quality
