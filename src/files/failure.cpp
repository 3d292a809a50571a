#include "files/failure.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <system_error>

namespace lull::files {

namespace fs = std::filesystem;

namespace {

std::string folder_of(const fs::path& target) {
  const fs::path folder = target.parent_path();
  return folder.empty() ? "." : folder.string();
}

}  // namespace

std::string read_failure(int error_number) {
  switch (error_number) {
    case 0:
      return "it cannot be opened";
    case ENOENT:
    case ENOTDIR:
      return "there is no such file; check the name and the folder";
    case EACCES:
    case EPERM:
      return "no permission to read it; check its access rights";
    case EISDIR:
      return "it is a folder";
    case ENAMETOOLONG:
      return "there is no such file, and no file can have so long a name; check the name";
    case ELOOP:
      return "it is a link that leads back to itself; name the file itself";
    default:
      return std::generic_category().message(error_number);
  }
}

std::string why_unreadable(const fs::path& path) {
  struct stat found = {};
  if (::stat(path.c_str(), &found) != 0) return read_failure(errno);
  if (S_ISDIR(found.st_mode)) return read_failure(EISDIR);
  if (!S_ISREG(found.st_mode)) return "it is a pipe or a device, not an ordinary file";
  if (::access(path.c_str(), R_OK) != 0) return read_failure(errno);
  return {};
}

bool is_disk_error(int error_number) {
  constexpr std::array kErrors = {EIO,          ENXIO,       ENODEV,   ESTALE,       ETIMEDOUT,
                                  EREMOTEIO,    ENOTCONN,    ENOMEM,   ECONNABORTED, ECONNRESET,
                                  EHOSTUNREACH, ENETUNREACH, ENETDOWN, EMFILE,       ENFILE};
  return std::find(kErrors.begin(), kErrors.end(), error_number) != kErrors.end();
}

ReadError cannot_read(const fs::path& path, int error_number) {
  return ReadError(fmt::format(
      "cannot read '{}': reading failed ({}); check the disk or the connection, then try again",
      path.string(), read_failure(error_number)));
}

std::string first_bytes(const fs::path& path, std::size_t most) {
  constexpr std::size_t kBlock = std::size_t{1} << 16U;
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor < 0) throw cannot_read(path, errno);
  std::string bytes;
  while (bytes.size() < most) {
    const std::size_t done = bytes.size();
    bytes.resize(std::min(done + kBlock, most));
    const ssize_t got = ::read(descriptor, bytes.data() + done, bytes.size() - done);
    const int error_number = errno;
    bytes.resize(done + static_cast<std::size_t>(std::max<ssize_t>(got, 0)));
    if (got > 0 || (got < 0 && error_number == EINTR)) continue;
    ::close(descriptor);
    if (got < 0) throw cannot_read(path, error_number);
    return bytes;
  }
  ::close(descriptor);
  return bytes;
}

std::string write_failure(const fs::path& target, int error_number) {
  const std::string folder = folder_of(target);
  switch (error_number) {
    case 0:
      return "writing failed; the disk may be full or was removed";
    case ENOENT:
    case ENOTDIR:
      return fmt::format("there is no folder '{}'; create it, or choose another place", folder);
    case EACCES:
    case EPERM:
      return fmt::format(
          "no permission to write this file or into the folder '{}'; choose another place, or "
          "change the permissions",
          folder);
    case EROFS:
      return fmt::format("'{}' is on a read-only disk; choose another place", folder);
    case ENOSPC:
    case EDQUOT:
      return fmt::format(
          "the disk that holds '{}' is full; free some space, or choose another place", folder);
    case EFBIG:
      return fmt::format(
          "the file would be larger than the disk that holds '{}', or your own limit, allows; "
          "choose another place",
          folder);
    case EISDIR:
      return "there is a folder of that name; choose another name";
    case ENAMETOOLONG:
      return "the name is too long; choose a shorter one";
    case ELOOP:
      return "it is a link that leads back to itself; choose another name";
    default:
      return fmt::format("{}; choose another place, or try again",
                         std::generic_category().message(error_number));
  }
}

OutputError cannot_write(const fs::path& target, int error_number) {
  return OutputError(
      fmt::format("cannot write '{}': {}", target.string(), write_failure(target, error_number)));
}

}  // namespace lull::files
