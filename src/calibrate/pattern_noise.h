#pragma once

#include <string>
#include <vector>

#include "calibrate/sensor_sum.h"
#include "capture/capture.h"

namespace lull::calibrate {

/// Offsets of the columns, or of the rows, of one plane: the same in every frame.
struct LineOffsets {
  std::vector<float> offset;  ///< stored units, one a line; empty where nothing is significant
  double rms = 0;             ///< of the lines, without the noise of measuring them; stored units
  double agreement = 0;       ///< correlation of measurements that share neither frames nor pixels

  [[nodiscard]] bool significant() const { return !offset.empty(); }
};

struct PatternOfPlane {
  LineOffsets columns;
  LineOffsets rows;
};

/// Pattern noise of rows and columns of a sensor. The spatial nonuniformity of dark images by row
/// and by column is that of EMVA standard 1288, release 4.0, "DSNU_col" and "DSNU_row" (from
/// memory); here it is measured from exposed frames.
struct PatternNoise {
  std::vector<PatternOfPlane> planes;  ///< 1 or 3; none: not measured
  double adu_per_unit = 1;             ///< steps of the true bit depth in a stored unit

  [[nodiscard]] bool significant() const;

  /// Root mean square over the planes, in steps of the true bit depth (ADU).
  [[nodiscard]] double columns_rms_adu() const;
  [[nodiscard]] double rows_rms_adu() const;

  /// What is significant, in words such as "columns by 0.84 ADU rms".
  [[nodiscard]] std::string text() const;

  /// Adds the significant offsets to a plane in stored units.
  void add_to(MutablePlaneView target, std::size_t plane) const;
};

/// Offset of each line from the lines of the same colour beside it: the median along the line of
/// pixel minus half of both neighbours, solved for the offsets.
///
/// It is attributed to the sensor where eighth differences, which contain almost nothing of an
/// optical image, of both halves of the line, each from the other half of the frames, correlate by
/// at least 0.5 and by 5 standard deviations of chance. Lines whose halves disagree are left out.
/// Slow changes, over more than about 11 lines of a colour, cannot be separated from the scene and
/// remain. So do finer ones, down to 4 lines, where they are stronger than the finest, as with
/// belts along the rows. Bounds are common practice, no source.
///
/// Not measured: captures in YUV or of a doubtful mosaic, of fewer than 12 frames, or under 32 px.
[[nodiscard]] PatternNoise measure_pattern(const capture::CaptureInfo& info, const SensorSum& sum);

}  // namespace lull::calibrate
