#pragma once

#include <string>
#include <vector>

#include "files/results.h"
#include "run/control.h"

namespace lull::run {

/// Name of a result that was not given: that of the input with another ending, in the working
/// folder. "night/moon_%04d.png" and "_stack.tif" give "moon_stack.tif"; ".linear" is left out.
[[nodiscard]] std::string name_after(const std::string& input, const std::string& ending);

/// For every run before any work. Empty names are passed over.
/// @param results  all files that the run will write. @param inputs  what it reads.
/// @throws UsageError: a result has the name of an input or of another result.
/// @throws OutputError: a result cannot be written, or some exist already (all are named) and
/// Resources::existing keeps them.
void check_results(const std::vector<std::string>& results, const std::vector<std::string>& inputs,
                   const Resources& resources);

/// Makes the results appear under their names.
/// @throws OutputError: a file of such a name appeared during the run, and Resources::existing
/// keeps it. Then no result appears.
void commit(files::Results& results, const Resources& resources);

}  // namespace lull::run
