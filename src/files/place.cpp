#include "files/place.h"

#include <system_error>

namespace lull::files {

namespace fs = std::filesystem;

std::optional<fs::path> end_of_links(fs::path path) {
  constexpr int kMostLinks = 40;  // as Linux has it: path_resolution(7)
  std::error_code failed;
  for (int i = 0; fs::is_symlink(fs::symlink_status(path, failed)); ++i) {
    if (i == kMostLinks) return std::nullopt;
    const fs::path next = fs::read_symlink(path, failed);
    if (failed) return std::nullopt;
    path = path.parent_path() / next;  // next alone, if it is absolute
  }
  return path;
}

fs::path place_of(const fs::path& path) {
  std::error_code failed;
  fs::path absolute = fs::absolute(path, failed);
  if (failed) return path;
  absolute = end_of_links(absolute).value_or(absolute);
  const fs::path place = fs::weakly_canonical(absolute, failed);
  return failed ? absolute : place;
}

bool same_file(const fs::path& a, const fs::path& b) {
  std::error_code failed;
  return fs::equivalent(a, b, failed) && !failed;
}

}  // namespace lull::files
