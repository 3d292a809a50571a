#pragma once

#include <filesystem>
#include <string>

#include "core/error.h"

/// Wording of failed system calls on files, for every reader and writer.
namespace lull::files {

/// Why a file could not be read and what to do, such as "there is no such file; check ...".
/// @param error_number  as in errno; 0 when a library lost it.
[[nodiscard]] std::string read_failure(int error_number);

/// Why a file cannot be read, found without opening it for good: a named pipe would wait for a
/// writer. Empty if it is a regular file that may be read.
[[nodiscard]] std::string why_unreadable(const std::filesystem::path& path);

/// Why `target` could not be written and what to do.
/// @param error_number  as in errno; 0 when a library lost it.
[[nodiscard]] std::string write_failure(const std::filesystem::path& target, int error_number);

/// The error "cannot write 'target': write_failure()".
[[nodiscard]] OutputError cannot_write(const std::filesystem::path& target, int error_number);

}  // namespace lull::files
