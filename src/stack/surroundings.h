#pragma once

#include "stack/accumulator.h"

namespace lull::stack {

/// The area around a crop in which there is light too, up to 32 px more on each side: a row or a
/// column belongs to it when everywhere along it, and in every channel, either half holds a tenth
/// at least of the weight at the border of the crop beside it. @param crop  on the grid of the
/// sums.
[[nodiscard]] Box surroundings(const Accumulator& sums, const Box& crop);

}  // namespace lull::stack
