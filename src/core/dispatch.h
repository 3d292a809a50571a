#pragma once

#include "core/cpu.h"

/// Kernels that are compiled once for each instruction set (lull_module(... KERNELS) of
/// tools/cmake/LullModule.cmake) and chosen at run time. The header of a kernel source lists them,
///     #define LULL_ROW_KERNELS(X) X(sobel, (const float* in, int width, float* out)) X(...)
/// and then says LULL_KERNELS(LULL_ROW_KERNELS) in its namespace. That declares them for each level
/// and gives kernels::sobel(), the function to call on this machine. The source defines
/// LULL_KERNEL_LEVEL::sobel.
namespace lull {

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

#if defined(__x86_64__)
#define LULL_DISPATCH(name) \
  { &baseline::name, &avx2::name, &avx512::name }
#else
#define LULL_DISPATCH(name) \
  { &baseline::name, &baseline::name, &baseline::name }
#endif

// NOLINTBEGIN(bugprone-macro-parentheses): parameters bring their own
#define LULL_DECLARE_KERNEL(name, parameters) void name parameters;

#define LULL_CHOOSE_KERNEL(name, parameters)                                \
  inline auto* name() {                                                     \
    static constexpr Dispatch<void parameters> table = LULL_DISPATCH(name); \
    return table.get();                                                     \
  }
// NOLINTEND(bugprone-macro-parentheses)

#define LULL_KERNELS(list)  \
  namespace baseline {      \
  list(LULL_DECLARE_KERNEL) \
  }                         \
  namespace avx2 {          \
  list(LULL_DECLARE_KERNEL) \
  }                         \
  namespace avx512 {        \
  list(LULL_DECLARE_KERNEL) \
  }                         \
  namespace kernels {       \
  list(LULL_CHOOSE_KERNEL)  \
  }
