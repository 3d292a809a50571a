#include <benchmark/benchmark.h>

#include "align/field_estimator.h"
#include "scene.h"

namespace {

using namespace lull;

// One frame's shift field against the reference, from the whole shift of tracking on.
void estimate_field(benchmark::State& state) {
  const Plane reference = bench::frame_of_scene(0, 0);
  Plane valid(bench::kSize);
  valid.fill(1);
  align::FieldOptions options;
  options.noise = 0.01;
  const align::FieldEstimator estimator(reference.view(), valid.view(), options);
  align::PaddedFrame frame;
  const Plane moved = bench::frame_of_scene(2.3, -1.6);
  frame.assign(moved.view());
  align::FieldEstimator::Workspace work;
  const align::FieldEstimate start{align::ShiftField(bench::kSize, {2, -2}), 1.0};
  const FrameOffset found =
      estimator.estimate(frame, start, align::LevelsUsed::all, work).field.at(320, 240);
  if (std::hypot(found.x_px - 2.3, found.y_px + 1.6) > 0.1) {
    state.SkipWithError("wrong answer: the offset is 2.3, -1.6 px");
    return;
  }
  for ([[maybe_unused]] auto _ : state) {
    benchmark::DoNotOptimize(estimator.estimate(frame, start, align::LevelsUsed::all, work).gain);
  }
}

BENCHMARK(estimate_field)->Unit(benchmark::kMillisecond);

}  // namespace
