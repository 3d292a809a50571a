#pragma once

#include <stdexcept>
#include <string>

namespace lull {

/// Exit statuses of the program; each RunError subclass belongs to one.
enum class ExitStatus {
  done = 0,
  internal_error = 1,
  wrong_usage = 2,
  unreadable_input = 3,
  nothing_usable = 4,
  unwritable_output = 5,
  interrupted = 130,
};

/// The run cannot go on. The message states what, where and what to do, for a non-programmer.
class RunError : public std::runtime_error {
 public:
  RunError(ExitStatus status, const std::string& message)
      : std::runtime_error(message), status_(status) {}

  [[nodiscard]] ExitStatus status() const { return status_; }

 private:
  ExitStatus status_;
};

/// An option or a combination of options makes no sense.
struct UsageError : RunError {
  explicit UsageError(const std::string& message) : RunError(ExitStatus::wrong_usage, message) {}
};

/// A file is missing, cannot be read, or is not what it should be.
struct InputError : RunError {
  explicit InputError(const std::string& message)
      : RunError(ExitStatus::unreadable_input, message) {}
};

/// The input was read, but holds nothing to work with.
struct NothingUsable : RunError {
  explicit NothingUsable(const std::string& message)
      : RunError(ExitStatus::nothing_usable, message) {}
};

/// A result cannot be written; an earlier one of that name is untouched.
struct OutputError : RunError {
  explicit OutputError(const std::string& message)
      : RunError(ExitStatus::unwritable_output, message) {}
};

/// The memory for the run is not there. Nothing is written.
struct NotEnoughMemory : OutputError {
  using OutputError::OutputError;
};

/// The user asked to stop (Ctrl-C).
struct Interrupted : RunError {
  Interrupted() : RunError(ExitStatus::interrupted, "interrupted") {}
};

}  // namespace lull
