#pragma once

#include <string>
#include <vector>

#include "calibrate/master_frame.h"
#include "capture/capture_info.h"

namespace lull::calibrate {

/// Checks that a master fits the capture: size, kind of colour, mosaic, depth. Returns notes for
/// the user.
///
/// Depth: a dark is subtracted in the capture's stored units, so both must be stored in the same
/// way. The number of bits is usually derived from the samples, and a dark uses hardly any of them.
/// So only contradictions are refused: 8 bits against 16, low end against high end, a dark that
/// exceeds the capture's full scale. A mono master is treated as a mosaic like the capture's, with
/// a note, since most picture formats cannot state that they hold one.
///
/// Exposure: where both files state theirs, a dark of another exposure is noted.
/// @throws InputError with both numbers and what to do.
std::vector<std::string> check_fits(const capture::CaptureInfo& lights, MasterKind kind,
                                    const Master& master);

}  // namespace lull::calibrate
