#pragma once

#include <cstdio>
#include <cstdlib>

/// For our own mistakes only, never for bad input. Kept by the option LULL_CHECKS (also in
/// optimised sanitizer builds), a plain no-op otherwise.
#ifdef LULL_CHECKS
#define LULL_ASSERT(condition)                                                                \
  do {                                                                                        \
    if (!(condition)) {                                                                       \
      std::fprintf(stderr, "%s:%d: broken assumption: %s\n", __FILE__, __LINE__, #condition); \
      std::abort();                                                                           \
    }                                                                                         \
  } while (false)
#else
#define LULL_ASSERT(condition) static_cast<void>(0)
#endif
