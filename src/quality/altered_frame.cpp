#include "quality/altered_frame.h"

#include <algorithm>
#include <cmath>
#include <memory>
#include <random>
#include <vector>

namespace lull::quality {

namespace {

constexpr double kPedestal = 8192;    // room for noise below black
constexpr double kFullScale = 49152;  // at most, and room for noise above it

// stored' = offset + gain * stored
struct Line {
  double gain = 1;
  double offset = 0;

  [[nodiscard]] double of(double stored) const { return offset + gain * stored; }
};

// Of the samples before they are dimmed. Five times a power of two: integers stay whole, also at
// four fifths of their light.
Line to_16_bit(const capture::CaptureInfo& info) {
  return {5 * std::exp2(std::floor(std::log2(kFullScale / (5 * info.full_scale)))), kPedestal};
}

Line line_of(const capture::CaptureInfo& info, const Alteration& alteration) {
  const Line wide = to_16_bit(info);
  const double sky = wide.of(info.scale.black + alteration.sky / info.scale.per_unit);
  return {wide.gain * alteration.dimming, sky + alteration.dimming * (wide.offset - sky)};
}

template <class T, class Noise>
void alter(SampleView from, const Line& line, Noise& noise, std::uint16_t* to) {
  for (int y = 0; y < from.height_px; ++y) {
    const T* row = from.row<T>(y);
    for (int x = 0; x < from.width_px; ++x) {
      const double value = std::round(line.of(static_cast<double>(row[x])) + noise());
      *to++ = static_cast<std::uint16_t>(std::clamp(value, 0.0, 65535.0));
    }
  }
}

template <class Noise>
void alter(SampleView from, const Line& line, Noise&& noise, std::uint16_t* to) {
  from.type == SampleType::u8 ? alter<std::uint8_t>(from, line, noise, to)
                              : alter<std::uint16_t>(from, line, noise, to);
}

}  // namespace

capture::CaptureInfo altered_info(const capture::CaptureInfo& info, const Alteration& alteration) {
  const Line wide = to_16_bit(info);
  capture::CaptureInfo out = info;
  out.sample_type = SampleType::u16;
  out.bits.stored = 16;
  out.scale = {wide.of(info.scale.black), info.scale.per_unit / wide.gain};
  out.full_scale = line_of(info, alteration).of(info.full_scale);
  if (out.colour == capture::Colour::yuv) out.colour = capture::Colour::luma;
  return out;
}

capture::Frame altered(const capture::Frame& frame, const capture::CaptureInfo& info,
                       const Alteration& alteration) {
  const Line line = line_of(info, alteration);
  const double sigma = alteration.noise_sigma / info.scale.per_unit * to_16_bit(info).gain;
  const auto area = static_cast<std::size_t>(frame.size().area_px());
  const auto planes = static_cast<std::size_t>(frame.plane_count);
  const auto samples = std::make_shared<std::vector<std::uint16_t>>(area * planes);
  std::mt19937_64 random(alteration.seed);
  std::normal_distribution<double> normal(0, 1);
  capture::Frame out = frame;
  out.chroma = {};  // only the luma is altered
  for (std::size_t i = 0; i < planes; ++i) {
    std::uint16_t* to = samples->data() + i * area;
    if (sigma != 0) {
      alter(
          frame.planes[i], line, [&] { return sigma * normal(random); }, to);
    } else {
      alter(
          frame.planes[i], line, [] { return 0.0; }, to);
    }
    out.planes[i] = {reinterpret_cast<const std::byte*>(to), frame.size().width_px,
                     frame.size().height_px,
                     static_cast<std::ptrdiff_t>(sizeof(std::uint16_t)) * frame.size().width_px,
                     SampleType::u16};
  }
  out.storage = samples;
  return out;
}

}  // namespace lull::quality
