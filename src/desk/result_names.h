#pragma once

#include <string>

namespace lull::desk {

/// The id of the result that a file belongs to: all files of one run differ in their endings alone.
/// @param file  with or without its folder.
[[nodiscard]] std::string result_id(const std::string& file);

/// The name that the files of one result have in common: "moon" of moon.tif, moon.linear.fits,
/// moon.recipe.json, moon.finish.json, moon.finish.html and moon.html.
[[nodiscard]] std::string result_stem(const std::string& file);

}  // namespace lull::desk
