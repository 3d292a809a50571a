#include <benchmark/benchmark.h>

#include <cmath>

#include "capture/frame.h"
#include "scene.h"
#include "stack/accumulator.h"

namespace {

using namespace lull;

// One frame of three channels onto the grid of a sampler.
void add_frame(benchmark::State& state, const std::shared_ptr<const stack::Sampler>& sampler,
               capture::Cfa cfa) {
  align::PaddedFrame frame;
  const Plane light = bench::frame_of_scene(1.3, -0.4);
  frame.assign(light.view());
  const align::ShiftField field(bench::kSize, {1.3, -0.4});
  const std::vector<float> weights(field.local_x.size(), 1.0F);
  stack::Contribution part;
  part.field = &field;
  part.weights = &weights;
  for (int c = 0; c < 3; ++c) {
    stack::ChannelSamples& samples = part.channels[static_cast<std::size_t>(c)];
    samples.plane = &frame;
    for (int j = 0; j < 2 && cfa != capture::Cfa::none; ++j) {
      for (int k = 0; k < 2; ++k) samples.at_parity[j][k] = capture::cfa_colour_at(cfa, k, j) == c;
    }
  }
  stack::Accumulator sums(sampler, 3, stack::Gaps::neighbours);
  sums.add({part});
  const double scale = sums.grid().scale();
  const int x = static_cast<int>(320 * scale);
  const int y = static_cast<int>(240 * scale);
  const double expected = bench::scene_at((x + 0.5) / scale - 0.5, (y + 0.5) / scale - 0.5);
  // A tent and a drop blur, a mosaic leaves gaps: the scene changes by 0.05 a pixel.
  if (std::abs(static_cast<double>(sums.mean(1).row(y)[x]) - expected) > 0.1) {
    state.SkipWithError("wrong answer: the mean is not the scene");
    return;
  }
  for ([[maybe_unused]] auto _ : state) sums.add({part});
}

void warp(benchmark::State& state) {
  add_frame(state, stack::warp_sampler(bench::kSize), capture::Cfa::none);
}

void mosaic(benchmark::State& state) {
  add_frame(state, stack::mosaic_sampler(bench::kSize), capture::Cfa::rggb);
}

void drop(benchmark::State& state) {
  add_frame(state, stack::drop_sampler(stack::PictureGrid(bench::kSize, 1.5), 0.7),
            capture::Cfa::none);
}

BENCHMARK(warp)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(mosaic)->Unit(benchmark::kMillisecond)->UseRealTime();
BENCHMARK(drop)->Unit(benchmark::kMillisecond)->UseRealTime();

}  // namespace
