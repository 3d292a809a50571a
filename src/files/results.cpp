#include "files/results.h"

#include <cerrno>
#include <cstdio>

#include "core/error.h"
#include "files/failure.h"

namespace lull::files {

namespace {

namespace fs = std::filesystem;

// The user knows the name of the result, not the temporary one.
OutputError renamed(const OutputError& error, const std::string& from, const std::string& to) {
  std::string message = error.what();
  const auto at = message.find(from);
  if (at != std::string::npos) message.replace(at, from.size(), to);
  return OutputError(message);
}

}  // namespace

void Results::add(const std::string& target, const Write& write, Format format) {
  const fs::path temporary = files_.emplace_back(target).hand_over();
  targets_.push_back(target);
  fs::path written = temporary;
  if (format == Format::of_name) written += fs::path(target).extension();
  try {
    write(written);
  } catch (const OutputError& error) {
    throw renamed(error, written.string(), target);
  }
  if (written != temporary && std::rename(written.c_str(), temporary.c_str()) != 0) {
    const int error_number = errno;
    std::remove(written.c_str());
    throw cannot_write(target, error_number);
  }
}

void Results::commit() {
  AtomicFile::commit_all(files_);
  files_.clear();
  targets_.clear();
}

}  // namespace lull::files
