#pragma once

#include <vector>

#include "night/plan.h"

namespace lull::night {

/// Finds what belongs together beyond one picture: repeated captures, which are joined where that
/// is asked for, colours, which get a picture of all, and panels.
/// @param captures  of the pictures of the plan, in the same order.
void add_sets(const std::vector<Facts>& captures, Join join, Merging merging, Plan& plan);

}  // namespace lull::night
