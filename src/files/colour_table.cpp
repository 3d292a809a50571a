#include "files/colour_table.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <utility>

namespace lull::files {

namespace {

constexpr std::size_t kMostColours = 256;
constexpr int kBinBits = 5;
constexpr int kBinsAChannel = 1 << kBinBits;
constexpr int kLookupBits = 6;
constexpr int kLookupSteps = 1 << kLookupBits;

constexpr std::array<std::array<int, 8>, 8> kPattern = {{{0, 32, 8, 40, 2, 34, 10, 42},
                                                         {48, 16, 56, 24, 50, 18, 58, 26},
                                                         {12, 44, 4, 36, 14, 46, 6, 38},
                                                         {60, 28, 52, 20, 62, 30, 54, 22},
                                                         {3, 35, 11, 43, 1, 33, 9, 41},
                                                         {51, 19, 59, 27, 49, 17, 57, 25},
                                                         {15, 47, 7, 39, 13, 45, 5, 37},
                                                         {63, 31, 55, 23, 61, 29, 53, 21}}};

Rgb pixel(const Bitmap& picture, std::size_t at) {
  const std::uint8_t* sample =
      picture.samples.data() + at * static_cast<std::size_t>(picture.channels);
  if (picture.channels == 1) return {sample[0], sample[0], sample[0]};
  return {sample[0], sample[1], sample[2]};
}

std::vector<Rgb> grays() {
  std::vector<Rgb> out;
  for (int i = 0; i < 256; ++i) {
    const auto level = static_cast<std::uint8_t>(i);
    out.push_back({level, level, level});
  }
  return out;
}

int distance(const std::array<int, 3>& colour, const Rgb& other) {
  int sum = 0;
  for (std::size_t c = 0; c < 3; ++c) sum += (colour[c] - other[c]) * (colour[c] - other[c]);
  return sum;
}

}  // namespace

// A box of colours: some of the bins.
struct ColourCount::Cut {
  std::vector<const Bin*> bins;
  std::int64_t count = 0;
  std::array<double, 3> spread{};  // variance times count

  explicit Cut(std::vector<const Bin*> of) : bins(std::move(of)) {
    std::array<double, 3> sum{};
    std::array<double, 3> squares{};
    for (const Bin* bin : bins) {
      count += bin->count;
      for (std::size_t c = 0; c < 3; ++c) {
        sum[c] += static_cast<double>(bin->sum[c]);
        squares[c] += static_cast<double>(bin->count) * level(*bin, c) * level(*bin, c);
      }
    }
    for (std::size_t c = 0; c < 3; ++c)
      spread[c] = squares[c] - sum[c] * sum[c] / static_cast<double>(count);
  }

  [[nodiscard]] static double level(const Bin& bin, std::size_t channel) {
    return static_cast<double>(bin.sum[channel]) / static_cast<double>(bin.count);
  }

  [[nodiscard]] double most() const { return *std::max_element(spread.begin(), spread.end()); }

  [[nodiscard]] std::pair<Cut, Cut> halves() const {
    const auto channel =
        static_cast<std::size_t>(std::max_element(spread.begin(), spread.end()) - spread.begin());
    std::vector<const Bin*> sorted = bins;
    std::stable_sort(sorted.begin(), sorted.end(), [channel](const Bin* a, const Bin* b) {
      return level(*a, channel) < level(*b, channel);
    });
    std::size_t at = 1;
    std::int64_t below = sorted[0]->count;
    while (at + 1 < sorted.size() && below + sorted[at]->count <= count / 2)
      below += sorted[at++]->count;
    const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(at);
    return {Cut({sorted.begin(), middle}), Cut({middle, sorted.end()})};
  }

  [[nodiscard]] Rgb mean() const {
    Rgb out{};
    for (std::size_t c = 0; c < 3; ++c) {
      std::int64_t sum = 0;
      for (const Bin* bin : bins) sum += bin->sum[c];
      out[c] = static_cast<std::uint8_t>((sum + count / 2) / count);
    }
    return out;
  }
};

ColourCount::ColourCount()
    : bins_(static_cast<std::size_t>(kBinsAChannel * kBinsAChannel * kBinsAChannel)) {}

void ColourCount::add(const Bitmap& picture) {
  const std::size_t count = picture.samples.size() / static_cast<std::size_t>(picture.channels);
  for (std::size_t i = 0; i < count; ++i) {
    const Rgb colour = pixel(picture, i);
    gray_ = gray_ && colour[0] == colour[1] && colour[1] == colour[2];
    const int shift = 8 - kBinBits;
    const int at = ((colour[0] >> shift) * kBinsAChannel + (colour[1] >> shift)) * kBinsAChannel +
                   (colour[2] >> shift);
    Bin& bin = bins_[static_cast<std::size_t>(at)];
    ++bin.count;
    for (std::size_t c = 0; c < 3; ++c) bin.sum[c] += colour[c];
  }
}

std::vector<Rgb> ColourCount::table() const {
  if (gray_) return grays();
  std::vector<const Bin*> used;
  for (const Bin& bin : bins_) {
    if (bin.count > 0) used.push_back(&bin);
  }
  std::vector<Cut> cuts;
  cuts.emplace_back(std::move(used));
  while (cuts.size() < kMostColours) {
    const auto widest = std::max_element(cuts.begin(), cuts.end(), [](const Cut& a, const Cut& b) {
      return (a.bins.size() > 1 ? a.most() : -1) < (b.bins.size() > 1 ? b.most() : -1);
    });
    if (widest->bins.size() < 2) break;
    auto [low, high] = widest->halves();
    *widest = std::move(low);
    cuts.push_back(std::move(high));
  }
  std::vector<Rgb> table;
  table.reserve(cuts.size());
  for (const Cut& cut : cuts) table.push_back(cut.mean());
  return table;
}

IndexedColours::IndexedColours(std::vector<Rgb> table)
    : table_(std::move(table)), grays_(table_ == grays()) {
  if (grays_) return;
  double sum = 0;
  for (const Rgb& one : table_) {
    int least = std::numeric_limits<int>::max();
    for (const Rgb& other : table_) {
      const int apart = distance({one[0], one[1], one[2]}, other);
      if (apart > 0) least = std::min(least, apart);
    }
    if (least < std::numeric_limits<int>::max()) sum += std::sqrt(least / 3.0);
  }
  // Fewer colours than there is room for are all that occur: nothing to hide.
  if (table_.size() == kMostColours) step_ = sum / static_cast<double>(table_.size());
  constexpr int kWidth = 256 / kLookupSteps;
  for (int i = 0; i < kLookupSteps * kLookupSteps * kLookupSteps; ++i) {
    const auto middle = [&](int step) { return step * kWidth + kWidth / 2; };
    nearest_.push_back(
        nearest({middle(i >> (2 * kLookupBits)), middle((i >> kLookupBits) % kLookupSteps),
                 middle(i % kLookupSteps)}));
  }
}

std::uint8_t IndexedColours::nearest(const std::array<int, 3>& colour) const {
  const auto best = std::min_element(table_.begin(), table_.end(), [&](const Rgb& a, const Rgb& b) {
    return distance(colour, a) < distance(colour, b);
  });
  return static_cast<std::uint8_t>(best - table_.begin());
}

void IndexedColours::row(const Bitmap& picture, int y, std::uint8_t* out) const {
  const auto start = static_cast<std::size_t>(y) * static_cast<std::size_t>(picture.width_px);
  for (int x = 0; x < picture.width_px; ++x) {
    const Rgb colour = pixel(picture, start + static_cast<std::size_t>(x));
    if (grays_) {
      out[x] = colour[0];
      continue;
    }
    const int place = kPattern[static_cast<std::size_t>(y % 8)][static_cast<std::size_t>(x % 8)];
    const int off = static_cast<int>(std::lround(step_ * ((place + 0.5) / 64 - 0.5)));
    std::size_t at = 0;
    for (const std::uint8_t level : colour)
      at = (at << kLookupBits) |
           static_cast<std::size_t>(std::clamp(level + off, 0, 255) >> (8 - kLookupBits));
    out[x] = nearest_[at];
  }
}

}  // namespace lull::files
