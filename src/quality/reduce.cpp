#include "quality/reduce.h"

#include "quality/row_kernels.h"

namespace lull::quality {

namespace {

void ensure(Plane& plane, int width_px, int height_px) {
  if (plane.size() != Size{width_px, height_px}) plane = Plane(width_px, height_px);
}

}  // namespace

void halve(SampleView samples, HalfPlane& half) {
  half.width_px = samples.width_px / 2;
  half.height_px = samples.height_px / 2;
  if (samples.type == SampleType::u8) {
    half.floats = Plane();
    half.integers.resize(static_cast<std::size_t>(half.width_px) *
                         static_cast<std::size_t>(half.height_px));
    auto* kernel = kernels::halve_u8();
    for (int y = 0; y < half.height_px; ++y) {
      kernel(samples.row<std::uint8_t>(2 * y), samples.row<std::uint8_t>(2 * y + 1), half.width_px,
             half.integers.data() + static_cast<std::ptrdiff_t>(y) * half.width_px);
    }
    return;
  }
  ensure(half.floats, half.width_px, half.height_px);
  auto* kernel = kernels::halve_u16();
  for (int y = 0; y < half.height_px; ++y) {
    kernel(samples.row<std::uint16_t>(2 * y), samples.row<std::uint16_t>(2 * y + 1), half.width_px,
           half.floats.row(y));
  }
}

void quarter(const HalfPlane& half, Plane& quarter) {
  ensure(quarter, half.width_px / 2, half.height_px / 2);
  for (int y = 0; y < quarter.height(); ++y) {
    if (half.exact()) {
      kernels::quarter_u16()(half.integer_row(2 * y), half.integer_row(2 * y + 1), quarter.width(),
                             quarter.row(y));
    } else {
      kernels::quarter_f32()(half.floats.row(2 * y), half.floats.row(2 * y + 1), quarter.width(),
                             quarter.row(y));
    }
  }
}

void to_plane(const HalfPlane& half, Plane& out) {
  ensure(out, half.width_px, half.height_px);
  for (int y = 0; y < half.height_px; ++y) {
    for (int x = 0; x < half.width_px; ++x) {
      out.row(y)[x] =
          half.exact() ? static_cast<float>(half.integer_row(y)[x]) : half.floats.row(y)[x];
    }
  }
}

void halve(PlaneView plane, Plane& out) {
  ensure(out, plane.width_px / 2, plane.height_px / 2);
  for (int y = 0; y < out.height(); ++y) {
    kernels::quarter_f32()(plane.row(2 * y), plane.row(2 * y + 1), out.width(), out.row(y));
  }
}

}  // namespace lull::quality
