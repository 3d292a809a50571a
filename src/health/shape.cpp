#include "health/shape.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include "core/samples.h"
#include "core/statistics.h"

namespace lull::health {

namespace {

constexpr int kReducedSide = 160;
constexpr int kEdgePx = 2;        // so near to the frame's edge counts as cut
constexpr int kFewestInLine = 2;  // a row or column with fewer holds noise ...
constexpr int kLeastChord = 10;   // ... or with less than this part of the longest: of a disc, half
                                  // a per cent of the diameter is lost at either end
constexpr double kStarSkirt = 2.2;
constexpr double kStarCorePx = 150;    // about 14 px across
constexpr double kDarkShare = 0.125;   // of the way from sky to object, as for discs
constexpr double kSmallestSky = 0.04;  // of the frame
constexpr double kLargestSky = 0.96;
constexpr double kSkyEvenness = 0.06;  // spread of the sky, of the object's height above it
constexpr double kBorderRmsPx = 1.2;   // of reduced pixels, of the best nine tenths
constexpr std::size_t kFewestBorder = 20;

// First and past-the-end line of the run of neighbouring lines that holds most of the object.
std::pair<int, int> fullest_run(const std::vector<int>& lines) {
  const int fewest =
      std::max(kFewestInLine, *std::max_element(lines.begin(), lines.end()) / kLeastChord);
  std::pair<int, int> best{0, 0};
  std::int64_t best_sum = 0;
  std::int64_t sum = 0;
  int begin = 0;
  for (int i = 0; i < static_cast<int>(lines.size()); ++i) {
    const int n = lines[static_cast<std::size_t>(i)];
    if (n < fewest) {
      sum = 0;
      begin = i + 1;
      continue;
    }
    sum += n;
    if (sum <= best_sum) continue;
    best_sum = sum;
    best = {begin, i + 1};
  }
  return best;
}

template <class T>
ObjectSeen see(SampleView samples, double level, double sky) {
  ObjectSeen out;
  std::vector<int> in_row(static_cast<std::size_t>(samples.height_px), 0);
  std::vector<int> in_column(static_cast<std::size_t>(samples.width_px), 0);
  std::vector<int> bright;
  for (int y = 0; y + 1 < samples.height_px; ++y) {
    const T* up = samples.row<T>(y);
    const T* down = samples.row<T>(y + 1);
    for (int x = 0; x + 1 < samples.width_px; ++x) {
      const int sum = up[x] + up[x + 1] + down[x] + down[x + 1];
      if (sum < 4 * level) continue;
      bright.push_back(sum);
      ++in_row[static_cast<std::size_t>(y)];
      ++in_column[static_cast<std::size_t>(x)];
    }
  }
  out.area_px = static_cast<std::int64_t>(bright.size());
  if (bright.empty()) return out;
  const double peak = *std::max_element(bright.begin(), bright.end());
  out.core_px = std::count_if(bright.begin(), bright.end(),
                              [&](int v) { return v - 4 * sky >= 0.5 * (peak - 4 * sky); });
  const auto [x0, x1] = fullest_run(in_column);
  const auto [y0, y1] = fullest_run(in_row);
  if (x1 <= x0 || y1 <= y0) return out;
  out.box = {x0, y0, x1 + 1, y1 + 1};
  out.cut = x0 < kEdgePx || y0 < kEdgePx || out.box.x1 > samples.width_px - kEdgePx ||
            out.box.y1 > samples.height_px - kEdgePx;
  return out;
}

template <class T>
void add_reduced(SampleView samples, int factor, Plane& sum) {
  for (int y = 0; y < sum.height(); ++y) {
    float* out = sum.row(y);
    for (int dy = 0; dy < factor; ++dy) {
      const T* row = samples.row<T>(y * factor + dy);
      for (int x = 0; x < sum.width(); ++x) {
        for (int dx = 0; dx < factor; ++dx) out[x] += static_cast<float>(row[x * factor + dx]);
      }
    }
  }
}

std::size_t plane_of(const capture::CaptureInfo& info) {
  return info.colour == capture::Colour::rgb ? 1 : 0;
}

struct Point {
  double x = 0;
  double y = 0;
};

// Pixels of the dark region that meets the frame's edge, flood filled from there.
std::vector<bool> dark_region(PlaneView mean, double level) {
  const int width = mean.width_px;
  const int height = mean.height_px;
  std::vector<bool> dark(static_cast<std::size_t>(width) * static_cast<std::size_t>(height), false);
  std::vector<std::pair<int, int>> open;
  const auto visit = [&](int x, int y) {
    if (x < 0 || y < 0 || x >= width || y >= height) return;
    const auto at =
        static_cast<std::size_t>(y) * static_cast<std::size_t>(width) + static_cast<std::size_t>(x);
    if (dark[at] || static_cast<double>(mean.at(x, y)) >= level) return;
    dark[at] = true;
    open.emplace_back(x, y);
  };
  for (int x = 0; x < width; ++x) {
    visit(x, 0);
    visit(x, height - 1);
  }
  for (int y = 0; y < height; ++y) {
    visit(0, y);
    visit(width - 1, y);
  }
  while (!open.empty()) {
    const auto [x, y] = open.back();
    open.pop_back();
    visit(x - 1, y);
    visit(x + 1, y);
    visit(x, y - 1);
    visit(x, y + 1);
  }
  return dark;
}

// Bright pixels, not at the frame's edge, beside the region.
std::vector<Point> border_of(const std::vector<bool>& dark, int width, int height) {
  std::vector<Point> border;
  const auto is_dark = [&](int x, int y) {
    return dark[static_cast<std::size_t>(y) * static_cast<std::size_t>(width) +
                static_cast<std::size_t>(x)];
  };
  for (int y = 1; y + 1 < height; ++y) {
    for (int x = 1; x + 1 < width; ++x) {
      if (is_dark(x, y)) continue;
      if (is_dark(x - 1, y) || is_dark(x + 1, y) || is_dark(x, y - 1) || is_dark(x, y + 1))
        border.push_back({static_cast<double>(x), static_cast<double>(y)});
    }
  }
  return border;
}

// How far points lie from a smooth arc: a parabola along the direction in which they extend, by
// least squares. The part of a circle that crosses a frame differs little from one.
double rms_of_best(const std::vector<Point>& points) {
  Point centre;
  for (const Point& p : points) {
    centre.x += p.x / static_cast<double>(points.size());
    centre.y += p.y / static_cast<double>(points.size());
  }
  double xx = 0, xy = 0, yy = 0;
  for (const Point& p : points) {
    xx += (p.x - centre.x) * (p.x - centre.x);
    xy += (p.x - centre.x) * (p.y - centre.y);
    yy += (p.y - centre.y) * (p.y - centre.y);
  }
  const double turn = 0.5 * std::atan2(2 * xy, xx - yy);  // of the long axis
  // In turned coordinates v = p + q u + r u^2: a shallow arc of a limb is one within its depth.
  std::array<double, 5> u_sums{};
  std::array<double, 3> v_sums{};
  std::vector<Point> turned;
  for (const Point& p : points) {
    const double u = (p.x - centre.x) * std::cos(turn) + (p.y - centre.y) * std::sin(turn);
    const double v = -(p.x - centre.x) * std::sin(turn) + (p.y - centre.y) * std::cos(turn);
    turned.push_back({u / kReducedSide, v});
    double power = 1;
    for (std::size_t k = 0; k < 5; ++k) {
      u_sums[k] += power;
      if (k < 3) v_sums[k] += power * v;
      power *= u / kReducedSide;
    }
  }
  const auto determinant = [](double a, double b, double c, double d, double e, double f, double g,
                              double h, double i) {
    return a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g);
  };
  const auto& s = u_sums;
  const double all = determinant(s[0], s[1], s[2], s[1], s[2], s[3], s[2], s[3], s[4]);
  if (std::abs(all) < 1e-9) return 1e9;
  const double p = determinant(v_sums[0], s[1], s[2], v_sums[1], s[2], s[3], v_sums[2], s[3], s[4]);
  const double q = determinant(s[0], v_sums[0], s[2], s[1], v_sums[1], s[3], s[2], v_sums[2], s[4]);
  const double r = determinant(s[0], s[1], v_sums[0], s[1], s[2], v_sums[1], s[2], s[3], v_sums[2]);
  std::vector<double> off;
  off.reserve(turned.size());
  for (const Point& t : turned) off.push_back(std::abs(t.y - (p + q * t.x + r * t.x * t.x) / all));
  return quantile(std::move(off), 0.9) / 1.645;  // of a Gaussian: nine tenths within
}

}  // namespace

std::string_view kind_name(Kind kind) {
  switch (kind) {
    case Kind::disc:
      return "disc";
    case Kind::field:
      return "field";
    case Kind::limb:
      return "limb";
    case Kind::star:
      return "star";
  }
  return "unknown";
}

ObjectSeen see_object(const capture::Frame& frame, const capture::CaptureInfo& info,
                      const quality::Target& target) {
  const SampleView& samples = frame.planes[plane_of(info)];
  const double level = target.object / info.scale.per_unit + info.scale.black;
  const double sky = target.sky / info.scale.per_unit + info.scale.black;
  return samples.type == SampleType::u8 ? see<std::uint8_t>(samples, level, sky)
                                        : see<std::uint16_t>(samples, level, sky);
}

Plane reduced_mean(const std::vector<const capture::Frame*>& frames,
                   const capture::CaptureInfo& info) {
  int factor = 2;
  while (std::max(info.size.width_px, info.size.height_px) / factor > kReducedSide) factor += 2;
  Plane sum(info.size.width_px / factor, info.size.height_px / factor);
  sum.fill(0);
  for (const capture::Frame* frame : frames) {
    const SampleView& samples = frame->planes[plane_of(info)];
    samples.type == SampleType::u8 ? add_reduced<std::uint8_t>(samples, factor, sum)
                                   : add_reduced<std::uint16_t>(samples, factor, sum);
  }
  scale(sum.view(), 1.0F / static_cast<float>(factor * factor) /
                        static_cast<float>(std::max<std::size_t>(frames.size(), 1)));
  return sum;
}

EdgeSeen see_edge(PlaneView mean) {
  std::vector<double> values;
  for (int y = 0; y < mean.height_px; ++y)
    values.insert(values.end(), mean.row(y), mean.row(y) + mean.width_px);
  const double low = quantile(values, 0.01);
  const double high = quantile(values, 0.98);
  const double level = low + kDarkShare * (high - low);
  const std::vector<bool> dark = dark_region(mean, level);
  std::vector<double> sky;
  for (std::size_t i = 0; i < dark.size(); ++i) {
    if (dark[i]) sky.push_back(values[i]);
  }
  const double share = static_cast<double>(sky.size()) / static_cast<double>(dark.size());
  if (share < kSmallestSky || share > kLargestSky) return {};
  const double median = quantile(sky, 0.5);
  for (double& value : sky) value = std::abs(value - median);
  if (quantile(std::move(sky), 0.8) > kSkyEvenness * (high - low)) return {};
  const auto border = border_of(dark, mean.width_px, mean.height_px);
  if (border.size() < kFewestBorder || rms_of_best(border) > kBorderRmsPx) return {};
  return {true, 1 - share};
}

bool is_star(double area_px, double core_px) {
  return core_px > 0 && core_px <= kStarCorePx && area_px >= kStarSkirt * core_px;
}

}  // namespace lull::health
