#pragma once

#include <filesystem>
#include <string>

namespace lull::run {

/// Before hours are spent. Passes where the system does not tell what is free.
/// @param what  "the mosaic of 20000 x 15000 pixels". @param file  in whose folder it is written.
/// @throws OutputError when the disk has less free than `bytes`.
void require_disk(const std::string& what, double bytes, const std::filesystem::path& file);

/// The same with what is free.
void require_disk(const std::string& what, double bytes, double free, const std::string& folder);

}  // namespace lull::run
