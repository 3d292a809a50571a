#pragma once

#include <optional>
#include <vector>

#include "draw/plot.h"

namespace lull::draw {

/// The series of a plot over one list of x values.
struct PlotTable {
  std::vector<double> xs;  ///< rising; a value stands twice where one series has it twice
  /// For each series one value for each x: unset where it has no point, not finite where it breaks.
  std::vector<std::vector<std::optional<double>>> ys;
};

/// Points whose x is not finite are left out. O(n log n) of all points.
[[nodiscard]] PlotTable table_of(const Plot& plot);

}  // namespace lull::draw
