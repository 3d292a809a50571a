#include <benchmark/benchmark.h>

#include <cmath>
#include <memory>
#include <vector>

#include "calibrate/calibration.h"
#include "scene.h"

namespace {

using namespace lull;

constexpr float kDark = 200;
constexpr float kFlat = 30'200;
constexpr std::uint16_t kStored = 10'200;

capture::CaptureInfo info_16_bits() {
  capture::CaptureInfo info;
  info.path = "lights";
  info.size = bench::kSize;
  info.bits.used = 16;
  info.bits.stored = 16;
  info.sample_type = SampleType::u16;
  info.full_scale = 65535;
  info.scale = {0, 1.0 / 65535};
  return info;
}

calibrate::Master even_master(float value) {
  calibrate::Master master;
  master.planes.emplace_back(bench::kSize);
  master.planes[0].fill(value);
  master.source = info_16_bits();
  master.used_bits = 0xffff;
  master.frames = 100;
  return master;
}

// Dark and flat of one frame of 16 bits.
void calibrate_frame(benchmark::State& state) {
  calibrate::Masters masters;
  masters.dark = even_master(kDark);
  masters.flat = even_master(kFlat);
  const capture::CaptureInfo info = info_16_bits();
  const calibrate::Calibration calibration(info, std::move(masters));
  const std::vector<std::uint16_t> samples(static_cast<std::size_t>(bench::kSize.area_px()),
                                           kStored);
  capture::Frame frame;
  frame.planes[0] = {reinterpret_cast<const std::byte*>(samples.data()), bench::kSize.width_px,
                     bench::kSize.height_px, static_cast<std::ptrdiff_t>(bench::kSize.width_px * 2),
                     SampleType::u16};
  const capture::Frame first = calibration.apply(frame);
  const double light =
      calibration.info(info).scale.to_light(first.planes[0].row<std::uint16_t>(7)[9]);
  if (std::abs(light - (kStored - 200.0) / 65535) > 1e-4) {
    state.SkipWithError("wrong answer: an even flat changes nothing but the dark");
    return;
  }
  for ([[maybe_unused]] auto _ : state) benchmark::DoNotOptimize(calibration.apply(frame).storage);
}

BENCHMARK(calibrate_frame)->Unit(benchmark::kMicrosecond);

}  // namespace
