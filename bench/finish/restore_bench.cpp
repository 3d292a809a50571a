#include <benchmark/benchmark.h>

#include "finish/restore.h"
#include "scene.h"

namespace {

using namespace lull;

// Detail of a colour picture, its blur told.
void restore_picture(benchmark::State& state) {
  const Plane picture = bench::frame_of_scene(0, 0);
  const std::vector<PlaneView> channels(3, picture.view());
  const finish::Measurements measured = finish::measurements_of_picture(channels);
  const finish::DetailPlan plan{finish::UndoGaussian{3}, 0.5};
  const auto first = finish::restore(channels, measured, plan);
  if (first.channels.size() != 3 || !(spectrum::gain_at(first.gains, 0.1) > 1)) {
    state.SkipWithError("wrong answer: nothing was raised");
    return;
  }
  for ([[maybe_unused]] auto _ : state) {
    benchmark::DoNotOptimize(finish::restore(channels, measured, plan).channels.size());
  }
}

BENCHMARK(restore_picture)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
