#pragma once

#include <string>

namespace lull::cli {

/// Opens standard streams that the caller closed, so that no result gets their number and with it
/// the messages. What is written to standard output then still fails.
void keep_standard_streams();

/// Text for people: control characters but line ends and tabs are written as \x1b or \u009b, so
/// that a name or metadata cannot drive the terminal. Bytes that are not UTF-8 become %E9.
[[nodiscard]] std::string printable(const std::string& text);

/// Writes to standard error, as it is. Where that is closed or full nobody can read it, and the run
/// goes on.
void write_error(const std::string& text);

}  // namespace lull::cli
