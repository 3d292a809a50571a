#include "files/place.h"

#include <system_error>

namespace lull::files {

namespace fs = std::filesystem;

fs::path place_of(const fs::path& path) {
  std::error_code failed;
  const fs::path absolute = fs::absolute(path, failed);
  if (failed) return path;
  const fs::path place = fs::weakly_canonical(absolute, failed);
  return failed ? absolute : place;
}

bool same_file(const fs::path& a, const fs::path& b) {
  std::error_code failed;
  return fs::equivalent(a, b, failed) && !failed;
}

}  // namespace lull::files
