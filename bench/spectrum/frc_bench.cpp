#include <benchmark/benchmark.h>

#include "scene.h"
#include "spectrum/frc.h"

namespace {

using namespace lull;

// The resolution of a pair of half stacks.
void compare_halves(benchmark::State& state) {
  const Plane first = bench::frame_of_scene(0, 0);
  const Plane second = Plane::copy_of(first.view());
  const auto same = spectrum::fourier_ring_correlation(first.view(), second.view());
  if (!(same.rings.at(3).correlation > 0.9999)) {
    state.SkipWithError("wrong answer: equal pictures correlate wholly");
    return;
  }
  for ([[maybe_unused]] auto _ : state) {
    benchmark::DoNotOptimize(
        spectrum::fourier_ring_correlation(first.view(), second.view()).rings.size());
  }
}

BENCHMARK(compare_halves)->Unit(benchmark::kMillisecond);

}  // namespace
