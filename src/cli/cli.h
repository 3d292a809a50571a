#pragma once

namespace lull::cli {

/// The whole program: reads the command line, runs the command, turns errors into one message on
/// standard error and the exit status that core/error.h lists.
[[nodiscard]] int run(int argc, char** argv);

}  // namespace lull::cli
