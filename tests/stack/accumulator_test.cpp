// Covers: stack/placed_row, stack/warped_frames, stack/contribution, stack/channel_samples
// Covers: stack/sampler
#include "stack/accumulator.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "capture/capture.h"
#include "core/parallel.h"
#include "stack/warped_frames.h"
#include "support/plain_samplers.h"
#include "support/scene.h"

// The samplers (warp, mosaic, drop) against their plain versions, and what sums of all of them
// keep.

namespace {

using namespace lull;
using align::ShiftField;
using stack::Accumulator;
using stack::Contribution;
using stack::Half;

constexpr Size kSize{100, 76};

struct Piece {
  align::PaddedFrame frame;
  ShiftField field;
  std::vector<float> weights;
};

std::vector<float> uneven_weights(const ShiftField& field, int seed) {
  std::vector<float> out(field.local_x.size());
  for (std::size_t n = 0; n < out.size(); ++n)
    out[n] = static_cast<float>(0.01 + std::pow(std::sin(static_cast<double>(n) + seed), 4));
  return out;
}

// Frames of `scene` with whole shifts and uneven weights.
template <class Scene>
std::vector<Piece> pieces(const Scene& scene, int count) {
  std::vector<Piece> out(static_cast<std::size_t>(count));
  for (int i = 0; i < count; ++i) {
    Piece& piece = out[static_cast<std::size_t>(i)];
    piece.field = ShiftField(kSize, {std::sin(i) * 5, std::cos(i * 1.7) * 4});
    const FrameOffset whole = piece.field.whole;
    Plane plane(kSize);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        plane.row(y)[x] = static_cast<float>(scene(x - whole.x_px, y - whole.y_px));
    }
    piece.frame.assign(plane.view());
    piece.weights = uneven_weights(piece.field, i);
  }
  return out;
}

// Frames of noise, bent, so that every pixel and every sample of a frame counts.
std::vector<Piece> noise(int count) {
  auto out = pieces([](double, double) { return 0.5; }, count);
  for (std::size_t i = 0; i < out.size(); ++i) {
    Plane plane(kSize);
    plane.fill(0.5F);
    test::add_noise(plane.view(), 0.1, static_cast<std::uint32_t>(i + 1));
    out[i].frame.assign(plane.view());
    ShiftField& field = out[i].field;
    for (std::size_t n = 0; n < field.local_x.size(); ++n) {
      field.local_x[n] = static_cast<float>(0.8 * std::sin(0.31 * static_cast<double>(n + i)));
      field.local_y[n] = static_cast<float>(0.8 * std::cos(0.23 * static_cast<double>(n) - 1));
    }
  }
  return out;
}

// Each frame as three channels of a mosaic or of planes: the same samples.
std::vector<Contribution> contributions(const std::vector<Piece>& from,
                                        capture::Cfa cfa = capture::Cfa::none) {
  std::vector<Contribution> out;
  for (std::size_t i = 0; i < from.size(); ++i) {
    Contribution part;
    for (int c = 0; c < 3; ++c) {
      stack::ChannelSamples& samples = part.channels[static_cast<std::size_t>(c)];
      samples.plane = &from[i].frame;
      for (int j = 0; j < 2 && cfa != capture::Cfa::none; ++j) {
        for (int k = 0; k < 2; ++k)
          samples.at_parity[j][k] = capture::cfa_colour_at(cfa, k, j) == c;
      }
    }
    part.field = &from[i].field;
    part.weights = &from[i].weights;
    part.gain = 1 + 0.1 * std::sin(static_cast<double>(i));
    part.half = stack::half_of(i);
    out.push_back(part);
  }
  return out;
}

const std::array<Displacement, 3> kOffsets{Displacement{0.7, -0.3}, Displacement{},
                                           Displacement{-1.2, 0.4}};

// Every channel and half of `fast` against `add_plain(part, channel, offset, sums)`.
template <class AddPlain>
void compare(Accumulator fast, const std::vector<Contribution>& parts, double light_tolerance,
             const AddPlain& add_plain) {
  fast.set_offsets(kOffsets);
  fast.add(parts);
  const Size size = fast.grid().size();
  for (int c = 0; c < fast.channels(); ++c) {
    for (const Half half : stack::kHalves) {
      test::PlainSums plain(size);
      for (const Contribution& part : parts) {
        if (part.half == half) add_plain(part, c, kOffsets[static_cast<std::size_t>(c)], plain);
      }
      const Plane mean = fast.half_mean(c, half);
      const PlaneView weight = fast.half_weight(c, half);
      double worst_weight = 0;
      double worst_light = 0;
      int compared = 0;
      for (int y = 0; y < size.height_px; ++y) {
        for (int x = 0; x < size.width_px; ++x) {
          const double expected = plain.weight_at(x, y);
          worst_weight =
              std::max(worst_weight, std::abs(static_cast<double>(weight.row(y)[x]) - expected));
          if (expected < 0.01) continue;
          worst_light = std::max(worst_light,
                                 std::abs(static_cast<double>(mean.row(y)[x]) - plain.mean(x, y)));
          ++compared;
        }
      }
      CAPTURE(c);
      CAPTURE(static_cast<int>(half));
      CHECK(worst_weight < 5e-4);
      CHECK(worst_light < light_tolerance);
      // Fewest are those of red at scale 2 by drops of 0.1 px, which weigh at most 0.04 each.
      CHECK(compared > size.area_px() / 20);
    }
  }
}

bool same(PlaneView a, PlaneView b) {
  for (int y = 0; y < a.height_px; ++y) {
    for (int x = 0; x < a.width_px; ++x) {
      if (a.row(y)[x] != b.row(y)[x]) return false;
    }
  }
  return a.size() == b.size();
}

std::vector<std::shared_ptr<const stack::Sampler>> all_samplers() {
  return {stack::warp_sampler(kSize), stack::mosaic_sampler(kSize),
          stack::drop_sampler(stack::PictureGrid(kSize, 1.5), 0.7)};
}

}  // namespace

TEST_SUITE("stack/warp_sampler") {
  // Coordinates are floats of up to 100 px: 4e-6 px, over which noise of 0.1 changes by 1e-6.
  TEST_CASE("gives what cubic convolution by its formula gives") {
    const auto from = noise(4);
    compare(Accumulator(stack::warp_sampler(kSize), 3), contributions(from), 2e-5,
            test::add_warped);
  }

  TEST_CASE("frames that were warped before give the same sums to the bit") {
    const auto from = noise(5);
    auto parts = contributions(from);
    Accumulator plain(stack::warp_sampler(kSize), 1);
    plain.add(parts);
    stack::WarpedFrames warped;
    warped.warp(parts, kSize);
    // Frames of a batch before this one are forgotten.
    warped.warp(parts, kSize);
    for (const Contribution& part : parts) CHECK(part.channels[0].warped != nullptr);
    Accumulator shared(stack::warp_sampler(kSize), 1);
    shared.add(parts);
    const Plane a = plain.mean();
    const Plane b = shared.mean();
    for (int y = 0; y < kSize.height_px; ++y)
      CHECK(std::equal(a.row(y), a.row(y) + kSize.width_px, b.row(y)));
    warped.complete(parts, a.view());
    for (const Contribution& part : parts) CHECK(part.channels[0].warped == nullptr);
  }

  TEST_CASE("a complete frame is as bright as the reference, and the reference beyond its edge") {
    std::vector<Piece> one(1);
    one[0].field = ShiftField(kSize, {-20, 0});
    Plane dim(kSize);
    dim.fill(0.25F);
    one[0].frame.assign(dim.view());
    one[0].weights = uneven_weights(one[0].field, 0);
    auto parts = contributions(one);
    parts[0].gain = 2;
    stack::WarpedFrames warped;
    warped.warp(parts, kSize);
    Plane reference(kSize);
    reference.fill(0.75F);
    warped.complete(parts, reference.view());
    CHECK(warped.view(0).row(30)[10] == 0.75F);
    CHECK(warped.view(0).row(30)[40] == doctest::Approx(0.5));
  }
}

TEST_SUITE("stack/mosaic_sampler") {
  TEST_CASE("gives each colour what a tent over its own samples gives") {
    const auto from = noise(8);
    for (const auto cfa :
         {capture::Cfa::rggb, capture::Cfa::bggr, capture::Cfa::gbrg, capture::Cfa::grbg}) {
      CAPTURE(capture::cfa_name(cfa));
      // Where a pixel has but a hundredth of a sample, rounding weighs a hundred times as much.
      compare(Accumulator(stack::mosaic_sampler(kSize), 3), contributions(from, cfa), 1e-3,
              test::add_mosaic);
    }
  }
}

TEST_SUITE("stack/drop_sampler") {
  TEST_CASE("gives what dropping each sample onto the pixels it overlaps gives") {
    const auto from = noise(6);
    for (const auto& how :
         std::vector<std::pair<double, double>>{{2, 0.7}, {1.5, 1}, {3, 0.4}, {2, 0.1}, {3, 1}}) {
      const double scale = how.first;
      const double pixfrac = how.second;
      CAPTURE(scale);
      CAPTURE(pixfrac);
      const auto plain = [s = scale, p = pixfrac](const Contribution& part, int channel,
                                                  Displacement offset, test::PlainSums& sums) {
        test::add_drops(part, channel, offset, s, p, sums);
      };
      for (const auto cfa : {capture::Cfa::none, capture::Cfa::grbg}) {
        compare(Accumulator(stack::drop_sampler(stack::PictureGrid(kSize, scale), pixfrac), 3),
                contributions(from, cfa), 1e-3, plain);
      }
    }
  }
}

TEST_SUITE("stack/accumulator") {
  TEST_CASE("the halves are disjoint, and together they are the whole") {
    const auto from = noise(7);
    const auto parts = contributions(from, capture::Cfa::rggb);
    for (const auto& sampler : all_samplers()) {
      Accumulator all(sampler, 3);
      all.add(parts);
      for (const Half half : stack::kHalves) {
        // A half is what its own frames alone give, to the bit: no other frame is in it.
        std::vector<Contribution> own;
        for (const Contribution& part : parts) {
          if (part.half == half) own.push_back(part);
        }
        CHECK(own.size() == (half == Half::first ? 4 : 3));
        Accumulator alone = all.like();
        alone.add(own);
        for (int c = 0; c < 3; ++c) {
          CHECK(same(all.half_mean(c, half).view(), alone.half_mean(c, half).view()));
          CHECK(same(all.half_weight(c, half), alone.half_weight(c, half)));
        }
      }
      for (int c = 0; c < 3; ++c) {
        const Plane mean = all.mean(c);
        const Plane weight = all.weight(c);
        const Plane first = all.half_mean(c, Half::first);
        const Plane second = all.half_mean(c, Half::second);
        double worst = 0;
        for (int y = 0; y < mean.height(); ++y) {
          for (int x = 0; x < mean.width(); ++x) {
            const double a = static_cast<double>(all.half_weight(c, Half::first).row(y)[x]);
            const double b = static_cast<double>(all.half_weight(c, Half::second).row(y)[x]);
            REQUIRE(static_cast<double>(weight.row(y)[x]) == doctest::Approx(a + b).epsilon(1e-6));
            const double both = a * static_cast<double>(first.row(y)[x]) +
                                b * static_cast<double>(second.row(y)[x]);
            worst = std::max(
                worst, std::abs(static_cast<double>(weight.row(y)[x] * mean.row(y)[x]) - both));
          }
        }
        CHECK(worst < 1e-5);
      }
    }
  }

  TEST_CASE("no seams: a constant stays constant, a gradient stays a gradient") {
    const auto constant = [](double, double) { return 0.4; };
    const auto gradient = [](double x, double y) { return 0.2 + 0.003 * x - 0.002 * y; };
    const auto check = [](const auto& scene, double tolerance) {
      const auto from = pieces(scene, 9);
      auto parts = contributions(from);
      for (Contribution& part : parts) part.gain = 1;
      Accumulator stacks(stack::warp_sampler(kSize), 1);
      stacks.add(parts);
      const Plane mean = stacks.mean();
      const Plane valid = stacks.valid();
      int covered = 0;
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) {
          if (valid.row(y)[x] == 0) continue;
          ++covered;
          CHECK(std::abs(static_cast<double>(mean.row(y)[x]) - scene(x, y)) < tolerance);
        }
      }
      CHECK(covered > kSize.area_px() * 9 / 10);
    };
    check(constant, 1e-6);
    // Cubic convolution is exact for straight lines; a frame's last two samples repeat its edge,
    // where its weight has nearly faded out.
    check(gradient, 2e-4);
  }

  TEST_CASE("areas outside of every frame have no weight and are 0, not garbage") {
    std::vector<Piece> from = pieces([](double, double) { return 0.4; }, 2);
    for (Piece& piece : from) piece.field.whole = {40, 0};
    auto parts = contributions(from);
    for (Contribution& part : parts) part.gain = 1;
    Accumulator stacks(stack::warp_sampler(kSize), 1);
    stacks.add(parts);
    CHECK(stacks.mean().row(40)[90] == 0);
    CHECK(stacks.valid().row(40)[90] == 0);
    CHECK(stacks.mean().row(40)[20] == doctest::Approx(0.4));
  }

  TEST_CASE("gaps take the mean of the nearest pixels with weight, where that is asked for") {
    const auto from = pieces([](double x, double y) { return 0.3 + 0.002 * x + 0.001 * y; }, 1);
    auto parts = contributions(from, capture::Cfa::rggb);
    parts[0].gain = 1;
    const ShiftField still(kSize);
    parts[0].field = &still;
    Accumulator open(stack::mosaic_sampler(kSize), 3);
    Accumulator closed(stack::mosaic_sampler(kSize), 3, stack::Gaps::neighbours);
    open.add(parts);
    closed.add(parts);
    // Red is at even columns and rows only: (41, 40) has red on the left and on the right.
    const Plane red = open.mean(0);
    const Plane filled = closed.mean(0);
    CHECK(red.row(40)[41] == 0);
    CHECK(filled.row(40)[41] ==
          doctest::Approx(static_cast<double>(red.row(40)[40] + red.row(40)[42]) / 2));
    CHECK(filled.row(40)[40] == red.row(40)[40]);
  }

  TEST_CASE("a copy keeps the sums, and what is like them starts empty") {
    const auto from = noise(3);
    Accumulator sums(stack::warp_sampler(kSize), 1);
    sums.set_offsets(kOffsets);
    sums.add(contributions(from));
    CHECK(same(sums.copy().mean().view(), sums.mean().view()));
    const Accumulator empty = sums.like();
    CHECK(same(empty.weight().view(), Plane(kSize).view()));
    CHECK(empty.offsets() == sums.offsets());
  }

  TEST_CASE("same sums on 1, 2, 3 and 8 threads") {
    const auto from = noise(5);
    const auto parts = contributions(from, capture::Cfa::bggr);
    for (const auto& sampler : all_samplers()) {
      const auto sum_with = [&](int threads) {
        set_thread_count(threads);
        Accumulator sums(sampler, 3);
        sums.add(parts);
        set_thread_count(0);
        return sums.mean(1);
      };
      const Plane expected = sum_with(1);
      for (const int threads : {2, 3, 8}) CHECK(same(sum_with(threads).view(), expected.view()));
    }
  }
}
