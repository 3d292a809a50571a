#pragma once

#include <filesystem>
#include <string>

#include "core/error.h"

/// Wording of failed system calls on files, for every reader and writer.
namespace lull::files {

/// Why a file could not be read and what to do, such as "there is no such file; check ...".
/// @param error_number  as in errno; 0 when a library lost it.
[[nodiscard]] std::string read_failure(int error_number);

/// Why `target` could not be written and what to do.
/// @param error_number  as in errno; 0 when a library lost it.
[[nodiscard]] std::string write_failure(const std::filesystem::path& target, int error_number);

/// The error "cannot write 'target': write_failure()".
[[nodiscard]] OutputError cannot_write(const std::filesystem::path& target, int error_number);

}  // namespace lull::files
