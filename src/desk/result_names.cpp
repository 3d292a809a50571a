#include "desk/result_names.h"

#include <array>
#include <filesystem>
#include <string_view>

#include "capture/folder.h"

namespace lull::desk {

std::string result_stem(const std::string& file) {
  const std::filesystem::path name = std::filesystem::path(file).filename();
  const std::string text = name.string();
  constexpr std::array<std::string_view, 4> kEndings = {".linear.fits", ".recipe.json",
                                                        ".finish.json", ".finish.html"};
  for (const std::string_view ending : kEndings) {
    if (text.size() > ending.size() && text.ends_with(ending))
      return text.substr(0, text.size() - ending.size());
  }
  return name.stem().string();
}

std::string result_id(const std::string& file) { return capture::id_of(result_stem(file)); }

}  // namespace lull::desk
