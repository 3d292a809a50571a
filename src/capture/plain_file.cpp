#include "capture/plain_file.h"

#include <sys/stat.h>

namespace lull::capture {

std::optional<FileFacts> plain_file(const std::filesystem::path& path, Links links) {
  struct stat facts {};

  const int got =
      links == Links::followed ? ::stat(path.c_str(), &facts) : ::lstat(path.c_str(), &facts);
  if (got != 0 || !S_ISREG(facts.st_mode)) return std::nullopt;
  return FileFacts{static_cast<std::uintmax_t>(facts.st_size), facts.st_mtim.tv_sec};
}

}  // namespace lull::capture
