#pragma once

// For the sources of kernels alone (core/dispatch.h). They are compiled once for each instruction
// set, so all of this is a copy of each source's own: what the linker could share might be the copy
// of another set.

// Rows never overlap; without this promise the loops are not vectorised.
#define LULL_RESTRICT __restrict__

namespace lull {

// Eight values at a time; the compiler makes of them what the instruction set offers.
typedef float Floats __attribute__((vector_size(32)));                   // NOLINT: alias templates
typedef float LooseFloats __attribute__((vector_size(32), aligned(4)));  // NOLINT: cannot carry it

static inline Floats load(const float* at) { return *reinterpret_cast<const LooseFloats*>(at); }

static inline void store(Floats values, float* at) { *reinterpret_cast<LooseFloats*>(at) = values; }

}  // namespace lull
