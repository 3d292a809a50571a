#include "run/disk_need.h"

#include <fmt/format.h>

#include <system_error>

#include "core/error.h"
#include "files/place.h"

namespace lull::run {

void require_disk(const std::string& what, double bytes, const std::filesystem::path& file) {
  const std::filesystem::path folder = files::place_of(file).parent_path();
  std::error_code unknown;
  const std::filesystem::space_info space = std::filesystem::space(folder, unknown);
  if (unknown) return;
  require_disk(what, bytes, static_cast<double>(space.available), folder.string());
}

void require_disk(const std::string& what, double bytes, double free, const std::string& folder) {
  if (bytes <= free) return;
  throw OutputError(
      fmt::format("{} needs {:.1f} GB on the disk of '{}', and {:.1f} GB are free; make room, or "
                  "write to another disk with -o",
                  what, bytes / 1e9, folder, free / 1e9));
}

}  // namespace lull::run
