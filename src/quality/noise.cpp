#include "quality/noise.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>

#include "core/statistics.h"

namespace lull::quality {

namespace {

constexpr double kMaskNorm = 6.0;  // square root of the sum of squares of the mask, 36
constexpr std::size_t kFewestSamples = 64;
constexpr int kRowSpacing = 16;
constexpr std::int64_t kClosest = 2;
constexpr std::int64_t kFurthest = 64;
constexpr std::int64_t kEnoughSamples = 4096;  // the median is then known to about 2%

// Magnitudes of the response, where the pixel is bright enough.
template <class T>
void collect(SampleView samples, int step, float floor_level, std::vector<float>& out) {
  const std::int64_t pixels = std::int64_t{samples.width_px} * samples.height_px;
  const int across = static_cast<int>(
      std::clamp<std::int64_t>(pixels / kRowSpacing / kEnoughSamples, kClosest, kFurthest));
  const std::int64_t most =
      std::int64_t{samples.height_px / kRowSpacing + 1} * (samples.width_px / across + 1);
  out.resize(static_cast<std::size_t>(most));
  float* next = out.data();
  for (int y = step; y + step < samples.height_px; y += kRowSpacing) {
    const T* up = samples.row<T>(y - step);
    const T* mid = samples.row<T>(y);
    const T* down = samples.row<T>(y + step);
    const auto column = [&](int x) { return up[x] - 2 * mid[x] + down[x]; };
    for (int x = step; x + step < samples.width_px; x += across) {
      *next = static_cast<float>(std::abs(column(x - step) - 2 * column(x) + column(x + step)));
      next += static_cast<float>(mid[x]) < floor_level ? 0 : 1;
    }
  }
  out.resize(static_cast<std::size_t>(next - out.data()));
}

// upper_median() of whole numbers from 0 on: counted in bins, then looked for in that of the
// median.
float median_of_whole(std::vector<float>& values) {
  constexpr unsigned kBinBits = 11;
  const auto most = static_cast<unsigned>(*std::max_element(values.begin(), values.end()));
  const int shift =
      std::max(static_cast<int>(std::bit_width(most)) - static_cast<int>(kBinBits), 0);
  const auto bin_of = [shift](float value) { return static_cast<unsigned>(value) >> shift; };
  std::array<std::uint32_t, 1U << kBinBits> counts{};
  for (const float value : values) ++counts[bin_of(value)];
  std::size_t below = 0;
  unsigned bin = 0;
  while (below + counts[bin] <= values.size() / 2) below += counts[bin++];
  if (shift == 0) return static_cast<float>(bin);
  const auto in_bin = [&](float value) { return bin_of(value) == bin; };
  const auto end = std::partition(values.begin(), values.end(), in_bin);
  const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2 - below);
  std::nth_element(values.begin(), middle, end);
  return *middle;
}

}  // namespace

double noise_sigma(SampleView samples, int step, double floor_level, std::vector<float>& scratch) {
  scratch.clear();
  const auto level = static_cast<float>(floor_level);
  samples.type == SampleType::u8 ? collect<std::uint8_t>(samples, step, level, scratch)
                                 : collect<std::uint16_t>(samples, step, level, scratch);
  if (scratch.size() < kFewestSamples) return 0;
  return kMadToSigma * static_cast<double>(median_of_whole(scratch)) / kMaskNorm;
}

}  // namespace lull::quality
