#include "night/night_folder.h"

#include <fmt/format.h>

#include "core/error.h"
#include "files/failure.h"

namespace lull::night {

void NightFolder::make_folder_of(const std::string& file) {
  const std::filesystem::path folder = std::filesystem::path(file).parent_path();
  if (folder.empty()) return;
  std::error_code error;
  std::filesystem::create_directories(folder, error);
  if (error)
    throw OutputError(fmt::format("{}: the folder cannot be made: {}", folder.string(),
                                  files::write_failure(folder, error.value())));
}

}  // namespace lull::night
