#pragma once

#include <cstdint>
#include <optional>

#include "capture/frame.h"
#include "capture/libav.h"

namespace lull::capture {

/// Clockwise turn in quarters (0 to 3) that sets the picture upright by a display matrix (nine
/// 32-bit integers); nothing if it mirrors or turns by another angle.
[[nodiscard]] std::optional<int> quarters_of_display_matrix(const std::uint8_t* matrix);

[[nodiscard]] Size turned_size(Size size, int quarters);

/// Mosaic of the turned picture, of which `size` is the size before.
[[nodiscard]] Cfa turned_cfa(Cfa cfa, Size size, int quarters);

/// Writes `source`, turned clockwise by quarters, densely to `out`.
void turn(SampleView source, int quarters, std::byte* out);

}  // namespace lull::capture
