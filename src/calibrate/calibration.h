#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "calibrate/master.h"
#include "calibrate/pattern_noise.h"
#include "capture/capture.h"

namespace lull::calibrate {

/// What a capture is calibrated with; each may be missing, but a flat dark needs its flat.
struct Masters {
  std::optional<Master> dark;
  std::optional<Master> flat;
  std::optional<Master> flat_dark;
  std::optional<PatternNoise>
      pattern{};  ///< of the capture itself; not beside a dark, which has it
};

/// Calibrates the frames of one capture, on the mosaic:
///
///   light = (stored - dark) / (flat - flat dark) * mean(flat - flat dark)
///
/// Source: Janesick, Photon Transfer, 2007 (from memory). The mean is that of each plane, and on a
/// mosaic of each of the three colours, so that the flat's own colour does not change the
/// picture's. Without a dark, the capture's black level with the pattern of its rows and columns
/// takes its place; without a flat dark, the dark does, else the flat's black level. Then hot and
/// cold pixels become the median of the nearest good pixels of their colour.
///
/// Cheap to copy: the tables (8 bytes a sample of one frame) are shared and never change. Safe to
/// use from several threads.
class Calibration {
 public:
  /// @param lights  what is known of the capture that will be calibrated.
  /// @throws InputError: a master does not fit the capture, or the flat is not brighter than its
  ///         dark; UsageError: a flat dark without a flat.
  Calibration(const capture::CaptureInfo& lights, Masters masters);

  /// Assumptions that were made and what is doubtful, in sentences for the user.
  [[nodiscard]] const std::vector<std::string>& notes() const;

  /// What is known of the calibrated frames: u16, black at 4096, light 1.0 at 44096, full_scale
  /// 65535; the notes of `lights` and of the calibration.
  [[nodiscard]] capture::CaptureInfo info(const capture::CaptureInfo& lights) const;

  /// The calibrated frame, in its own memory. A sample at or above the capture's full scale becomes
  /// 65535, no other does. Same bytes for the same frame. About 1 ns a sample.
  [[nodiscard]] capture::Frame apply(const capture::Frame& frame) const;

 private:
  struct Tables;

  std::shared_ptr<const Tables> tables_;
};

}  // namespace lull::calibrate
