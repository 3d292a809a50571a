#include "core/samples.h"

namespace lull {

namespace {

template <class T>
void convert(SampleView samples, const SampleScale& scale, MutablePlaneView out) {
  const auto black = static_cast<float>(scale.black);
  const auto per_unit = static_cast<float>(scale.per_unit);
  for (int y = 0; y < samples.height_px; ++y) {
    const T* in = samples.row<T>(y);
    float* to = out.row(y);
    for (int x = 0; x < samples.width_px; ++x) {
      to[x] = (static_cast<float>(in[x]) - black) * per_unit;
    }
  }
}

}  // namespace

void to_plane(SampleView samples, const SampleScale& scale, MutablePlaneView out) {
  LULL_ASSERT(samples.size() == out.size());
  if (samples.type == SampleType::u8) {
    convert<std::uint8_t>(samples, scale, out);
  } else {
    convert<std::uint16_t>(samples, scale, out);
  }
}

}  // namespace lull
