#include "core/cpu.h"

#include <algorithm>
#include <atomic>
#include <cstdlib>

namespace lull {

namespace {

CpuLevel machine_level() {
#if defined(__x86_64__)
  __builtin_cpu_init();
  const bool avx2 = __builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma") &&
                    __builtin_cpu_supports("bmi2");
  const bool avx512 = avx2 && __builtin_cpu_supports("avx512f") &&
                      __builtin_cpu_supports("avx512bw") && __builtin_cpu_supports("avx512dq") &&
                      __builtin_cpu_supports("avx512vl");
  if (avx512) return CpuLevel::avx512;
  if (avx2) return CpuLevel::avx2;
#endif
  return CpuLevel::baseline;
}

CpuLevel initial_level() {
  const CpuLevel machine = machine_level();
  const char* wanted = std::getenv("LULL_CPU");
  if (wanted == nullptr) return machine;
  for (const CpuLevel level : {CpuLevel::baseline, CpuLevel::avx2, CpuLevel::avx512}) {
    if (cpu_level_name(level) == wanted) return std::min(level, machine);
  }
  return machine;
}

std::atomic<CpuLevel>& current() {
  static std::atomic<CpuLevel> level{initial_level()};
  return level;
}

}  // namespace

CpuLevel cpu_level() { return current().load(std::memory_order_relaxed); }

void set_cpu_level(CpuLevel level) { current() = std::min(level, machine_level()); }

std::string_view cpu_level_name(CpuLevel level) {
  switch (level) {
    case CpuLevel::avx2:
      return "avx2";
    case CpuLevel::avx512:
      return "avx512";
    case CpuLevel::baseline:
      break;
  }
  return "baseline";
}

}  // namespace lull
