#pragma once

#include <filesystem>

#include "judge/judge.h"

namespace lull::judge {

/// Writes an 8-bit PNG, grey or RGB: truth, result and result minus truth side by side, with black
/// columns between. The first two share one linear stretch, from the truth's lowest value to its
/// highest; the difference is amplified around mid grey, relative to that stretch.
/// @return the factor of the amplification: of 1, 2, 5, 10 .. 1000 the largest that clips no more
///         than 1% of the samples.
/// @throws OutputError. The file appears complete or not at all.
double write_comparison(const std::filesystem::path& path, const Verdict& verdict);

}  // namespace lull::judge
