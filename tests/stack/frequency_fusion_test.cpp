// Covers: stack/fusion_patches, stack/fusion_learner, stack/fusion_correction
// Covers: stack/fusion_sums, stack/nearby_rings
#include "stack/frequency_fusion.h"

#include <doctest/doctest.h>

#include <cmath>
#include <complex>
#include <mutex>

#include "core/parallel.h"
#include "spectrum/frc.h"
#include "stack/accumulator.h"
#include "stack/fusion_correction.h"
#include "stack/fusion_learner.h"
#include "support/scene.h"

namespace {

using namespace lull;

constexpr Size kSize{160, 144};
constexpr int kReference = 24;
constexpr int kFrames = 96;

struct Piece {
  align::PaddedFrame frame;
  align::ShiftField field{kSize};
  std::vector<float> weights;
};

// Frames that an optic with two apertures would give: each shows the scene twice, at a distance
// and in a direction of its own, which leaves some frequencies alone and takes others away.
// @param doubling  half the distance, px.
std::vector<Piece> pieces(double contrast, double doubling, double noise) {
  const test::Scene scene(kSize, 7, 1.2, 6);
  std::vector<Piece> out(kFrames);
  for (int i = 0; i < kFrames; ++i) {
    Plane plane(kSize);
    const double dx = doubling * std::cos(2.4 * i);
    const double dy = doubling * std::sin(2.4 * i);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        const double both = 0.5 * (scene.at(x + dx, y + dy) + scene.at(x - dx, y - dy));
        plane.row(y)[x] = static_cast<float>(0.5 + contrast * (both - 0.5));
      }
    }
    test::add_noise(plane.view(), noise, static_cast<std::uint32_t>(i + 1));
    Piece& piece = out[static_cast<std::size_t>(i)];
    piece.frame.assign(plane.view());
    piece.weights.assign(piece.field.local_x.size(), 1.0F);
  }
  return out;
}

Plane truth() {
  const test::Scene scene(kSize, 7, 1.2, 6);
  return scene.seen(kSize, [](int, int) { return Displacement{}; });
}

std::vector<stack::Contribution> contributions(const std::vector<Piece>& from, int count) {
  std::vector<stack::Contribution> out;
  for (int i = 0; i < count; ++i) {
    const Piece& piece = from[static_cast<std::size_t>(i)];
    stack::Contribution part;
    part.channels[0].plane = &piece.frame;
    part.field = &piece.field;
    part.weights = &piece.weights;
    part.half = stack::half_of(static_cast<std::size_t>(i));
    part.in_reference = i < kReference;
    out.push_back(part);
  }
  return out;
}

struct Fused {
  Plane classic, fused;
  Plane halves[2];
};

Fused fuse(const std::vector<Piece>& frames) {
  stack::WarpedFrames warped;
  auto reference_parts = contributions(frames, kReference);
  stack::Accumulator reference(stack::warp_sampler(kSize), 1);
  reference.add(reference_parts);
  std::vector<std::vector<float>> weights(kReference, frames[0].weights);
  stack::FusionLearner learner(reference.mean().view(), weights);
  warped.warp(reference_parts, kSize);
  learner.add(reference_parts, warped);
  stack::FrequencyFusion fusion = std::move(learner).finish();
  auto parts = contributions(frames, kFrames);
  warped.warp(parts, kSize);
  stack::Accumulator stacks(stack::warp_sampler(kSize), 1);
  stacks.add(parts);
  fusion.add(parts, warped);
  const stack::FusionCorrection correction =
      fusion.correction(stacks.half_mean(0, stack::Half::first).view(),
                        stacks.half_mean(0, stack::Half::second).view());
  Fused out{stacks.mean(), correction.corrected(stacks.mean().view()), {}};
  for (const stack::Half half : stack::kHalves) {
    out.halves[static_cast<int>(half)] =
        correction.half_corrected(stacks.half_mean(0, half).view(), half);
  }
  return out;
}

constexpr Box kInner{16, 16, 144, 128};

double agreement(const Plane& a, const Plane& b) {
  const auto curve =
      spectrum::fourier_ring_correlation(a.view().crop(kInner), b.view().crop(kInner));
  double sum = 0;
  for (const auto& ring : curve.rings) sum += ring.correlation;
  return sum / static_cast<double>(curve.rings.size());
}

double rms_difference(const Plane& a, const Plane& b) {
  double sum = 0;
  for (int y = kInner.y0; y < kInner.y1; ++y) {
    for (int x = kInner.x0; x < kInner.x1; ++x)
      sum += std::pow(static_cast<double>(a.row(y)[x] - b.row(y)[x]), 2);
  }
  return std::sqrt(sum / static_cast<double>(kInner.width_px() * kInner.height_px()));
}

}  // namespace

TEST_SUITE("stack/frequency_fusion") {
  TEST_CASE("frames that are good at different frequencies give more than their mean") {
    const Fused result = fuse(pieces(1, 3.0, 0.01));
    const Plane scene = truth();
    const double classic = agreement(result.classic, scene);
    const double fused = agreement(result.fused, scene);
    MESSAGE("agreement with the truth: ", classic, " -> ", fused);
    CHECK(fused > classic + 0.02);
  }

  // What registration has left of a frame's place is in the phase of its transfer, which turns it
  // back. Without that, displacements by 2.2 px either way would leave cos^2 of the detail.
  TEST_CASE("frames that lie beside their place are turned back by the phase of their transfer") {
    const test::Scene scene(kSize, 7, 1.2, 6);
    std::vector<Piece> frames(kFrames);
    for (int i = 0; i < kFrames; ++i) {
      const Displacement by{2.2 * std::cos(2.4 * i), 2.2 * std::sin(2.4 * i)};
      Plane plane = scene.seen(kSize, [&by](int, int) { return by; });
      test::add_noise(plane.view(), 0.004, static_cast<std::uint32_t>(i + 1));
      Piece& piece = frames[static_cast<std::size_t>(i)];
      piece.frame.assign(plane.view());
      piece.weights.assign(piece.field.local_x.size(), 1.0F);
    }
    const Fused result = fuse(frames);
    const Plane still = truth();
    const double classic = rms_difference(result.classic, still);
    const double fused = rms_difference(result.fused, still);
    MESSAGE("from the truth: ", classic, " -> ", fused);
    CHECK(fused < 0.95 * classic);
  }

  // The reference is the mean of frames of noise, so each frame is a part of it. Left in, this
  // share looks like a transfer of 1 over the number of frames. Leave one out, and it is 0: by its
  // definition the mean over neighbouring frequencies of F conj(S), S without F.
  TEST_CASE("a frame's own share of the reference is no transfer") {
    const auto frames = pieces(0, 0, 0.05);
    constexpr int kFew = 6;
    auto parts = contributions(frames, kFew);
    stack::Accumulator reference(stack::warp_sampler(kSize), 1);
    reference.add(parts);
    const Plane mean = reference.mean();
    const std::vector<std::vector<float>> weights(kFew, frames[0].weights);
    const stack::FusionPatches patches(mean.view(), weights);
    std::mutex guard;
    double sum = 0;
    double count = 0;
    stack::WarpedFrames warped;
    warped.warp(parts, kSize);
    warped.complete(parts, mean.view());
    const auto add_mean = [&](const stack::FusionPatches::Workspace& work, float, stack::Half) {
      double here = 0;
      const std::complex<float>* h = work.transfer.row(0);
      for (std::size_t i = 0; i < patches.bins(); ++i) here += static_cast<double>(h[i].real());
      const std::scoped_lock lock(guard);
      sum += here / static_cast<double>(patches.bins());
      ++count;
    };
    patches.for_each(parts, warped, [&](std::size_t) { return add_mean; });
    MESSAGE("mean transfer: ", sum / count);
    // F conj(S) over |S|^2 of the mean of 6 frames of noise is 1 with the share left in.
    CHECK(std::abs(sum / count) < 0.1);
  }

  TEST_CASE("where frames are alike, the stack stays as it is") {
    const Fused result = fuse(pieces(1, 0, 0.03));
    const double noise = 0.03 / std::sqrt(kFrames);
    MESSAGE("changed by ", rms_difference(result.fused, result.classic) / noise, " of the noise");
    CHECK(rms_difference(result.fused, result.classic) < 0.5 * noise);
  }

  TEST_CASE("noise is not made into detail that the halves share") {
    const Fused result = fuse(pieces(0, 0, 0.05));
    MESSAGE("mean correlation of the halves: ", agreement(result.halves[0], result.halves[1]));
    CHECK(std::abs(agreement(result.halves[0], result.halves[1])) < 0.06);
  }

  TEST_CASE("any number of threads gives the same bits") {
    const auto frames = pieces(1, 2.0, 0.03);
    set_thread_count(1);
    const Fused one = fuse(frames);
    set_thread_count(3);
    const Fused three = fuse(frames);
    set_thread_count(0);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        REQUIRE(one.fused.row(y)[x] == three.fused.row(y)[x]);
    }
  }

  TEST_CASE("memory is known before it is taken, and limits the size of frames") {
    CHECK(stack::FrequencyFusion::bytes({640, 480}) > std::size_t{5} << 20);
    CHECK(stack::FrequencyFusion::bytes({640, 480}) < std::size_t{60} << 20);
    CHECK(stack::FrequencyFusion::bytes({7680, 4320}) > std::size_t{1} << 30);
    CHECK(stack::FrequencyFusion::fits({3840, 2160}));
    CHECK_FALSE(stack::FrequencyFusion::fits({7680, 4320}));
    CHECK_FALSE(stack::FrequencyFusion::fits({400, 40}));
  }
}
