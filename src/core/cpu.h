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

/// One function for each level; call the one that fits.
template <class Function>
struct Dispatch {
  Function* baseline;
  Function* avx2;
  Function* avx512;

  [[nodiscard]] Function* get() const {
    switch (cpu_level()) {
      case CpuLevel::avx512:
        return avx512;
      case CpuLevel::avx2:
        return avx2;
      case CpuLevel::baseline:
        break;
    }
    return baseline;
  }
};

}  // namespace lull

/// Names the function of that name at every level: LULL_DISPATCH(sobel) where the kernel source
/// defines lull::...::LULL_KERNEL_LEVEL::sobel.
#if defined(__x86_64__)
#define LULL_DISPATCH(name) \
  { &baseline::name, &avx2::name, &avx512::name }
#else
#define LULL_DISPATCH(name) \
  { &baseline::name, &baseline::name, &baseline::name }
#endif
