#include <benchmark/benchmark.h>

#include <cmath>
#include <utility>

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

// The same on the part that a page shows, after the first time: 512 x 512 px.
void restore_part_again(benchmark::State& state) {
  const Plane picture = bench::frame_of_scene(0, 0);
  const std::vector<PlaneView> channels(3, picture.view());
  const finish::Measurements measured = finish::measurements_of_picture(channels);
  const finish::DetailPlan plan{finish::UndoGaussian{3}, 0.5};
  finish::PreparedRestoration kept(channels, measured, finish::PreparedRestoration::Keep::all);
  const Box part = Box{100, 100, 612, 612}.intersection({0, 0, picture.width(), picture.height()});
  const Plane whole = std::move(finish::restore(channels, measured, plan).channels[0]);
  const Plane seen = std::move(kept.restored_part(plan, part).channels[0]);
  if (std::abs(seen.row(50)[50] - whole.row(part.y0 + 50)[part.x0 + 50]) > 1e-4F) {
    state.SkipWithError("wrong answer: a part is not what the whole has there");
    return;
  }
  for ([[maybe_unused]] auto _ : state)
    benchmark::DoNotOptimize(kept.restored_part(plan, part).channels.size());
}

BENCHMARK(restore_part_again)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(restore_picture)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
