#pragma once

#include <string>
#include <vector>

#include "calibrate/master_frame.h"
#include "capture/capture_info.h"

namespace lull::calibrate {

/// Sees to it that a master fits the capture: size, kind of colour, mosaic, depth. Returns notes
/// for the user.
///
/// Depth: a dark is subtracted in the capture's stored units, so both must be stored alike. The
/// number of bits is usually judged from the samples, and a dark hardly uses any; what is refused
/// is what cannot be: 8 bits against 16, low end against high end, a dark that reaches beyond the
/// capture's full scale. A mono master is taken for a mosaic like the capture's, with a note:
/// most picture formats cannot say that they hold one.
///
/// Exposure: where both files tell theirs, a dark of another one is noted.
/// @throws InputError that says both numbers and what to do.
std::vector<std::string> check_fits(const capture::CaptureInfo& lights, MasterKind kind,
                                    const Master& master);

}  // namespace lull::calibrate
