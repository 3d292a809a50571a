#include "night/night_folder.h"

#include <fmt/format.h>

#include "core/error.h"
#include "files/failure.h"
#include "files/left_files.h"

namespace lull::night {

void NightFolder::remove_left_files() const {
  namespace fs = std::filesystem;
  files::remove_left_files(results_);
  files::remove_left_files(own());
  std::error_code error;
  for (fs::recursive_directory_iterator entry(own(), error), end; !error && entry != end;
       entry.increment(error)) {
    std::error_code ignored;
    if (entry->is_directory(ignored)) files::remove_left_files(entry->path());
  }
}

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
