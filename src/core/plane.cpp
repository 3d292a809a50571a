#include "core/plane.h"

#include <sys/mman.h>
#include <unistd.h>

#include <algorithm>
#include <cstdint>
#include <cstdlib>
#include <new>

namespace lull {

namespace {

constexpr std::ptrdiff_t kAlignElems = 16;  // 64 bytes: one cache line, one AVX-512 register

constexpr std::size_t kLargePageBytes = 2U << 20;

// The first touch of a page costs as much as work on its samples: large planes get large pages
// where the kernel has them. Memory for a plane of so many bytes, or null.
void* plane_memory(std::size_t bytes) {
  void* memory = std::aligned_alloc(64, bytes);
  if (memory == nullptr || bytes < kLargePageBytes) return memory;
  const auto page = static_cast<std::uintptr_t>(::sysconf(_SC_PAGESIZE));
  const auto first = (reinterpret_cast<std::uintptr_t>(memory) + page - 1) / page * page;
  const auto end = (reinterpret_cast<std::uintptr_t>(memory) + bytes) / page * page;
  ::madvise(reinterpret_cast<void*>(first), end - first, MADV_HUGEPAGE);
  return memory;
}

}  // namespace

void Plane::Free::operator()(float* memory) const {
  std::free(memory);
}  // NOLINT: from aligned_alloc

Plane::Plane(int width_px, int height_px) : width_px_(width_px), height_px_(height_px) {
  LULL_ASSERT(width_px >= 0 && height_px >= 0);
  stride_elems_ = (width_px + kAlignElems - 1) / kAlignElems * kAlignElems;
  const auto bytes =
      static_cast<std::size_t>(stride_elems_) * static_cast<std::size_t>(height_px) * sizeof(float);
  if (bytes == 0) return;
  data_.reset(static_cast<float*>(plane_memory(bytes)));
  if (!data_) throw std::bad_alloc();
  std::fill_n(data_.get(), bytes / sizeof(float), 0.0F);
}

Plane Plane::copy_of(PlaneView source) {
  Plane copy(source.size());
  for (int y = 0; y < source.height_px; ++y) {
    std::copy_n(source.row(y), source.width_px, copy.row(y));
  }
  return copy;
}

void Plane::fill(float value) {
  for (int y = 0; y < height_px_; ++y) std::fill_n(row(y), width_px_, value);
}

void add(MutablePlaneView target, PlaneView source) {
  LULL_ASSERT(target.size() == source.size());
  for (int y = 0; y < target.height_px; ++y) {
    float* t = target.row(y);
    const float* s = source.row(y);
    for (int x = 0; x < target.width_px; ++x) t[x] += s[x];
  }
}

void scale(MutablePlaneView target, float factor) {
  for (int y = 0; y < target.height_px; ++y) {
    float* t = target.row(y);
    for (int x = 0; x < target.width_px; ++x) t[x] *= factor;
  }
}

Plane mean_plane(const std::vector<PlaneView>& planes) {
  LULL_ASSERT(!planes.empty());
  Plane mean = Plane::copy_of(planes.front());
  for (std::size_t i = 1; i < planes.size(); ++i) add(mean.view(), planes[i]);
  scale(mean.view(), 1.0F / static_cast<float>(planes.size()));
  return mean;
}

Plane weighted_sum(PlaneView first, float factor, PlaneView second) {
  LULL_ASSERT(first.size() == second.size());
  Plane out = Plane::copy_of(first);
  for (int y = 0; y < out.height(); ++y) {
    float* row = out.row(y);
    const float* s = second.row(y);
    for (int x = 0; x < out.width(); ++x) row[x] += factor * s[x];
  }
  return out;
}

}  // namespace lull
