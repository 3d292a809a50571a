#pragma once

#include <cerrno>
#include <cstddef>
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

/// The disk, the connection or the system failed, not the file: no reason to call it damaged.
struct ReadError : InputError {
  using InputError::InputError;
};

/// Whether an error number is one of a disk or a connection, and not of what a file holds.
[[nodiscard]] bool is_disk_error(int error_number);

/// The error "cannot read 'path': reading failed (Input/output error); check the disk ...".
[[nodiscard]] ReadError cannot_read(const std::filesystem::path& path, int error_number);

/// The first bytes of a file, at most `most`. @throws ReadError.
[[nodiscard]] std::string first_bytes(const std::filesystem::path& path, std::size_t most);

/// Calls a reader that knows no error numbers, and throws a ReadError in place of its InputError
/// where the disk failed.
template <class Read>
[[nodiscard]] auto with_disk_errors(const std::filesystem::path& path, const Read& read) {
  errno = 0;
  try {
    return read();
  } catch (const ReadError&) {
    throw;
  } catch (const InputError&) {
    if (is_disk_error(errno)) throw cannot_read(path, errno);
    throw;
  }
}

/// Why `target` could not be written and what to do.
/// @param error_number  as in errno; 0 when a library lost it.
[[nodiscard]] std::string write_failure(const std::filesystem::path& target, int error_number);

/// The error "cannot write 'target': write_failure()".
[[nodiscard]] OutputError cannot_write(const std::filesystem::path& target, int error_number);

}  // namespace lull::files
