#pragma once

#include <string>
#include <vector>

#include "run/finish_input.h"
#include "run/look.h"

namespace lull::run {

/// The look of a picture as it can be had of this input: the object that the stack names, and no
/// undoing of a blur that is not known. @param name  of the input, for messages.
/// @param notes  gets what the user should know of it.
/// @throws UsageError where the look asks for what the picture does not have.
[[nodiscard]] Look settled_look(const Look& asked, const FinishInput& input,
                                const std::string& name, std::vector<std::string>& notes);

/// The same where the picture itself is not in memory. @param channels  of the picture.
[[nodiscard]] Look settled_look(const Look& asked, const FinishInput& input, std::size_t channels,
                                const std::string& name, std::vector<std::string>& notes);

}  // namespace lull::run
