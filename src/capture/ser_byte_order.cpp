#include "capture/ser_byte_order.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <span>
#include <vector>

namespace lull::capture {

namespace {

constexpr int kSampledFrames = 8;  ///< spread over the capture

[[nodiscard]] std::uint16_t swapped(std::uint16_t value) {
  return static_cast<std::uint16_t>((value << 8) | (value >> 8));
}

/// Pictures are smooth: neighbours differ less than samples differ from their mean. With the
/// bytes exchanged, the noisy low byte leads and neighbours differ as much as any two samples.
struct Smoothness {
  int largest = 0;
  double neighbour_difference = 0;
  double spread = 0;

  [[nodiscard]] double ratio() const { return spread > 0 ? neighbour_difference / spread : 1.0; }
};

/// `step`: distance of samples of one colour, so that only samples of the same colour are compared.
void measure(std::span<const std::uint16_t> samples, std::size_t step, Smoothness& sum) {
  double mean = 0;
  for (const auto value : samples) mean += value;
  mean /= static_cast<double>(samples.size());
  for (std::size_t i = step; i < samples.size(); ++i) {
    sum.largest = std::max(sum.largest, static_cast<int>(samples[i]));
    sum.neighbour_difference += std::abs(samples[i] - samples[i - step]);
    sum.spread += std::abs(samples[i] - mean);
  }
}

[[nodiscard]] std::size_t step_of(int colour_id) {
  if (colour_id >= 100) return 3;
  return colour_id == 0 ? 1 : 2;
}

/// Are the samples in the byte order of the header less smooth than in the other?
[[nodiscard]] bool header_is_wrong(InputFile& file, std::int64_t data_at, const SerFile& ser) {
  Smoothness stated;
  Smoothness exchanged;
  std::vector<std::uint16_t> samples(static_cast<std::size_t>(ser.frame_bytes / 2));
  const std::int64_t count = std::min<std::int64_t>(kSampledFrames, ser.frames);
  for (std::int64_t i = 0; i < count; ++i) {
    const std::int64_t frame = i * ser.frames / count;
    const auto bytes = std::as_writable_bytes(std::span(samples));
    if (file.read_at(data_at + frame * ser.frame_bytes, bytes) != ser.frame_bytes) return false;
    if (!ser.header_little_endian)
      std::transform(samples.begin(), samples.end(), samples.begin(), swapped);
    measure(samples, step_of(ser.colour_id), stated);
    std::transform(samples.begin(), samples.end(), samples.begin(), swapped);
    measure(samples, step_of(ser.colour_id), exchanged);
  }
  const int top = (1 << ser.depth_bits) - 1;
  const bool stated_fits = stated.largest <= top;
  const bool exchanged_fits = exchanged.largest <= top;
  if (stated_fits != exchanged_fits) return exchanged_fits;
  return exchanged.ratio() < 0.5 * stated.ratio();
}

}  // namespace

void choose_byte_order(InputFile& file, std::int64_t data_at, ByteOrder order, SerFile& ser) {
  if (order != ByteOrder::automatic) {
    ser.little_endian = order == ByteOrder::little;
    return;
  }
  if (!header_is_wrong(file, data_at, ser)) return;
  ser.little_endian = !ser.header_little_endian;
  ser.notes.push_back(
      fmt::format("the header states {}-endian samples, but they are plausible only as {}-endian: "
                  "read as {}-endian",
                  ser.header_little_endian ? "little" : "big", ser.little_endian ? "little" : "big",
                  ser.little_endian ? "little" : "big"));
}

}  // namespace lull::capture
