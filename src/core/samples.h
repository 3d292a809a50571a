#pragma once

#include <cstddef>
#include <cstdint>

#include "core/plane.h"

namespace lull {

enum class SampleType : std::uint8_t { u8, u16 };

/// Read-only view of integer samples as they come from a capture: H x W, native byte order.
struct SampleView {
  const std::byte* data = nullptr;
  int width_px = 0;
  int height_px = 0;
  std::ptrdiff_t stride_bytes = 0;
  SampleType type = SampleType::u8;

  [[nodiscard]] Size size() const { return {width_px, height_px}; }

  /// First sample of row y; T must match `type`.
  template <class T>
  [[nodiscard]] const T* row(int y) const {
    LULL_ASSERT(sizeof(T) == (type == SampleType::u8 ? 1U : 2U));
    return reinterpret_cast<const T*>(data + y * stride_bytes);
  }
};

/// How stored integers become light: value = (stored - black) * per_unit; 1.0 = full scale of the
/// true bit depth (so 12 bits at the low end of 16: per_unit = 1/4095; at the high end: 1/65520).
struct SampleScale {
  double black = 0;
  double per_unit = 1.0 / 255.0;

  [[nodiscard]] double to_light(double stored) const { return (stored - black) * per_unit; }
};

/// Float plane of a sample view. Sizes must match.
void to_plane(SampleView samples, const SampleScale& scale, MutablePlaneView out);

}  // namespace lull
