#pragma once

#include <string_view>

namespace lull {

/// Instruction sets for which the hot kernels are compiled. All give the same values: kernels
/// keep the order of operations and no operation is contracted.
enum class CpuLevel { baseline, avx2, avx512 };

/// The level in use: the best this machine has, or what LULL_CPU (baseline, avx2, avx512) or
/// set_cpu_level() lowers it to.
[[nodiscard]] CpuLevel cpu_level();

/// Lowers the level (never above what the machine has). Not while kernels run.
void set_cpu_level(CpuLevel level);

[[nodiscard]] std::string_view cpu_level_name(CpuLevel level);

}  // namespace lull
