#include "survey/outlier_cells.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/lane_sort.h"
#include "core/statistics.h"

namespace lull::survey {

namespace {

constexpr std::size_t kFramesAround = 32;
constexpr std::size_t kFewestFrames = 8;
constexpr int kCellsTogether = 16;
constexpr double kHigh = 0.9;  // quantile
constexpr float kTimesHigh = 8;
constexpr float kTimesHighBeside = 1.5F;  // of the cell alone, beside an outlier
constexpr double kMostOutliers = 0.25;    // of the cells of a frame

// In rows of `columns` cells.
std::size_t index_of(int x, int y, int columns) {
  return static_cast<std::size_t>(y) * static_cast<std::size_t>(columns) +
         static_cast<std::size_t>(x);
}

// Cells beside those of the mask, for which `also` holds, over and over.
template <class Also>
void grow(std::vector<bool>& mask, const quality::CellGrid& cells, std::vector<Place> from,
          const Also& also) {
  while (!from.empty()) {
    const Place at = from.back();
    from.pop_back();
    for (int y = std::max(at.y - 1, 0); y <= std::min(at.y + 1, cells.rows() - 1); ++y) {
      for (int x = std::max(at.x - 1, 0); x <= std::min(at.x + 1, cells.columns() - 1); ++x) {
        const auto i = index_of(x, y, cells.columns());
        if (mask[i] || !also(x, y)) continue;
        mask[i] = true;
        from.push_back({x, y});
      }
    }
  }
}

}  // namespace

OutlierCells::Steps OutlierCells::steps_of(FrameOffset offset) {
  const auto whole = [](double px) { return static_cast<int>(std::lround(px / quality::kCellPx)); };
  return {whole(offset.x_px), whole(offset.y_px)};
}

void OutlierCells::see(const quality::CellGrid& energy, FrameOffset offset) {
  seen_.push_back({energy, steps_of(offset)});
  if (seen_.size() > kFramesAround) seen_.pop_front();
}

void OutlierCells::settle() {
  typical_.clear();
  if (seen_.size() < kFewestFrames) return;
  left_ = top_ = std::numeric_limits<int>::max();
  int right = std::numeric_limits<int>::min();
  int bottom = right;
  for (const Seen& frame : seen_) {
    left_ = std::min(left_, -frame.steps.columns);
    top_ = std::min(top_, -frame.steps.rows);
    right = std::max(right, frame.energy.columns() - frame.steps.columns);
    bottom = std::max(bottom, frame.energy.rows() - frame.steps.rows);
  }
  columns_ = right - left_;
  rows_ = bottom - top_;
  typical_.resize(index_of(0, rows_, columns_));
  for (int row = 0; row < rows_; ++row)
    for (int column = 0; column < columns_; column += kCellsTogether) describe(column, row);
  fill_unknown();
  if (typical_.empty()) return;
  for (int row = 0; row < rows_; ++row) {
    for (int column = 0; column < columns_; ++column)
      typical_[index_of(column, row, columns_)].high_around = high_around(column, row);
  }
}

// Cells that few frames show, where the object has wandered off: they may be as any other.
void OutlierCells::fill_unknown() {
  Typical any;
  std::vector<float> medians;
  for (const Typical& cell : typical_) {
    if (!cell.known) continue;
    any.high = std::max(any.high, cell.high);
    medians.push_back(cell.median);
  }
  if (medians.empty()) return typical_.clear();
  any.median = upper_median(medians);
  for (Typical& cell : typical_) {
    if (!cell.known) cell = any;
  }
}

// The typical energies of some cells side by side.
void OutlierCells::describe(int first_column, int row) {
  const int end = std::min(first_column + kCellsTogether, columns_);
  Lanes<kFramesAround, kCellsTogether> energies;
  for (auto& frame : energies) frame.fill(std::numeric_limits<float>::infinity());
  std::array<std::size_t, kCellsTogether> counts{};
  for (std::size_t i = 0; i < seen_.size(); ++i) {
    const quality::CellGrid& energy = seen_[i].energy;
    const int y = row + top_ + seen_[i].steps.rows;
    if (y < 0 || y >= energy.rows()) continue;
    const int to_x = left_ + seen_[i].steps.columns;
    for (int column = std::max(first_column, -to_x);
         column < std::min(end, energy.columns() - to_x); ++column) {
      const auto lane = static_cast<std::size_t>(column - first_column);
      energies[i][lane] = energy.row(y)[column + to_x];
      ++counts[lane];
    }
  }
  sort_lanes(energies);  // what is not seen goes to the end
  for (int column = first_column; column < end; ++column) {
    const auto lane = static_cast<std::size_t>(column - first_column);
    const std::size_t count = counts[lane];
    if (count < kFewestFrames) continue;
    const auto high = static_cast<std::size_t>(kHigh * static_cast<double>(count - 1));
    typical_[index_of(column, row, columns_)] = {energies[high][lane], 0, energies[count / 2][lane],
                                                 true};
  }
}

float OutlierCells::high_around(int column, int row) const {
  float high = 0;
  for (int y = std::max(row - 1, 0); y <= std::min(row + 1, rows_ - 1); ++y) {
    for (int x = std::max(column - 1, 0); x <= std::min(column + 1, columns_ - 1); ++x) {
      high = std::max(high, typical_[index_of(x, y, columns_)].high);
    }
  }
  return high;
}

const OutlierCells::Typical& OutlierCells::typical_in(int x, int y, const Steps& steps) const {
  const int column = std::clamp(x - steps.columns - left_, 0, columns_ - 1);
  const int row = std::clamp(y - steps.rows - top_, 0, rows_ - 1);
  return typical_[index_of(column, row, columns_)];
}

// A track continues from its outliers where a limb or a spot would hide it, and touches the cells
// beside. Empty: there is none, or the frame shows something else.
std::vector<bool> OutlierCells::outliers_in(const quality::CellGrid& energy,
                                            const Steps& steps) const {
  std::vector<bool> mask(energy.count(), false);
  const auto cells_in = [&] {
    std::vector<Place> places;
    for (int y = 0; y < energy.rows(); ++y) {
      for (int x = 0; x < energy.columns(); ++x) {
        if (mask[index_of(x, y, energy.columns())]) places.push_back({x, y});
      }
    }
    return places;
  };
  for (int y = 0; y < energy.rows(); ++y) {
    for (int x = 0; x < energy.columns(); ++x) {
      const int column = x - steps.columns - left_;
      const int row = y - steps.rows - top_;
      const bool inside = column >= 0 && column < columns_ && row >= 0 && row < rows_;
      const float high =
          inside ? typical_[index_of(column, row, columns_)].high_around : high_around(column, row);
      mask[index_of(x, y, energy.columns())] = high > 0 && energy.row(y)[x] > kTimesHigh * high;
    }
  }
  if (std::find(mask.begin(), mask.end(), true) == mask.end()) return {};
  grow(mask, energy, cells_in(), [&](int x, int y) {
    return energy.row(y)[x] > kTimesHighBeside * typical_in(x, y, steps).high;
  });
  const std::vector<Place> track = cells_in();
  if (static_cast<double>(track.size()) > kMostOutliers * static_cast<double>(energy.count()))
    return {};
  for (const Place& at : track) {
    for (int y = std::max(at.y - 1, 0); y <= std::min(at.y + 1, energy.rows() - 1); ++y)
      for (int x = std::max(at.x - 1, 0); x <= std::min(at.x + 1, energy.columns() - 1); ++x)
        mask[index_of(x, y, energy.columns())] = true;
  }
  return mask;
}

quality::CellGrid OutlierCells::repaired(const quality::CellGrid& energy,
                                         FrameOffset offset) const {
  if (typical_.empty()) return energy;
  const Steps steps = steps_of(offset);
  const std::vector<bool> outlier = outliers_in(energy, steps);
  if (outlier.empty()) return energy;
  const auto is_outlier = [&](int x, int y) { return outlier[index_of(x, y, energy.columns())]; };
  // The rest of the frame against the same cells of the others.
  double own = 0;
  double others = 0;
  for (int y = 0; y < energy.rows(); ++y) {
    for (int x = 0; x < energy.columns(); ++x) {
      if (is_outlier(x, y)) continue;
      own += static_cast<double>(energy.row(y)[x]);
      others += static_cast<double>(typical_in(x, y, steps).median);
    }
  }
  const auto factor = static_cast<float>(others > 0 ? own / others : 1);
  quality::CellGrid out = energy;
  for (int y = 0; y < energy.rows(); ++y) {
    for (int x = 0; x < energy.columns(); ++x) {
      if (is_outlier(x, y)) out.row(y)[x] = factor * typical_in(x, y, steps).median;
    }
  }
  return out;
}

}  // namespace lull::survey
