#pragma once

#include <functional>
#include <string>

namespace lull::test {

/// Runs `work` in a child process after `prepare`, which may lower its limits or rights.
/// @return the message of the OutputError that it ends in; empty if there is none.
[[nodiscard]] std::string message_in_child(const std::function<void()>& prepare,
                                           const std::function<void()>& work);

}  // namespace lull::test
