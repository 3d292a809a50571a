#pragma once

#include <cstddef>
#include <string>

namespace lull::run {

/// "800M", "2G", "1.5GiB" or plain bytes; 0 for "auto". @throws UsageError: not a size, or under 64
/// MiB.
[[nodiscard]] std::size_t parse_memory_size(const std::string& text);

/// Memory of the machine, bytes.
[[nodiscard]] double machine_memory();

/// Of it, what a program can get now without others losing theirs, bytes; at most the
/// limits of its control group and of its address space.
[[nodiscard]] double free_memory();

}  // namespace lull::run
