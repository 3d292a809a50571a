#include "stack/outlier_bounds.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <memory>
#include <numbers>
#include <set>
#include <utility>
#include <vector>

#include "core/neighbourhood.h"
#include "spectrum/radial_filter.h"
#include "support/scene.h"

using namespace lull;

TEST_SUITE("stack/outlier_bounds") {
  namespace {

  constexpr Size kSize{120, 96};

  Plane ones() {
    Plane plane(kSize);
    plane.fill(1);
    return plane;
  }

  // A frame half as bright, seen through a shift, soft and noisy.
  Plane frame_of(const test::Scene& scene) {
    Plane frame = scene.seen(kSize, [](int x, int y) {
      return Displacement{1.5 + std::sin(y / 20.0), -0.7 + std::cos(x / 17.0)};
    });
    std::vector<spectrum::FilterPoint> blur;
    for (int i = 0; i <= 36; ++i) {
      const double f = 0.02 * i;
      blur.push_back({f, std::exp(-2 * std::pow(std::numbers::pi * 2 * f, 2))});
    }
    frame = spectrum::filtered(frame.view(), blur);
    scale(frame.view(), 0.5F);
    test::add_noise(frame.view(), 0.02, 3);
    return frame;
  }

  }  // namespace

  TEST_CASE("a soft, bent, noisy frame is all scene; a hit and a track are not") {
    const test::Scene scene(kSize, 31);
    const Plane sharp = scene.seen(kSize, [](int, int) { return Displacement{}; });
    const stack::OutlierBounds bounds(sharp.view(), ones().view());
    const align::ShiftField field(kSize, {-1.5, 0.7});
    const Plane clean = frame_of(scene);
    align::PaddedFrame frame;
    frame.assign(clean.view());
    CHECK(bounds.repair(frame, nullptr, field, 2, 0.02).empty());
    CHECK(frame.view().row(40)[60] == clean.row(40)[60]);

    Plane struck = Plane::copy_of(clean.view());
    struck.row(20)[30] = 1.0F;
    for (int x = 40; x < 90; ++x) struck.row(x / 2)[x] = 0.9F;
    frame.assign(struck.view());
    const auto found = bounds.repair(frame, nullptr, field, 2, 0.02);
    CHECK(found.size() == 51);
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        const bool was_struck = struck.row(y)[x] != clean.row(y)[x];
        if (was_struck) {
          CHECK(frame.view().row(y)[x] < 0.5F);
        } else {
          CHECK(frame.view().row(y)[x] == clean.row(y)[x]);
        }
      }
    }
  }

  // Bounds by hand: even light has no span, so 7 sigma of noise are left.
  TEST_CASE("over even light, samples from 7 sigma on are outliers, on either side") {
    constexpr double kSigma = 0.01;
    Plane even(kSize);
    even.fill(0.5F);
    const stack::OutlierBounds bounds(even.view(), ones().view());
    const auto found_at = [&](double sigmas) {
      Plane plane = Plane::copy_of(even.view());
      plane.row(30)[40] += static_cast<float>(sigmas * kSigma);
      align::PaddedFrame frame;
      frame.assign(plane.view());
      return bounds.repair(frame, nullptr, align::ShiftField(kSize), 1, kSigma).size();
    };
    for (const double sign : {1.0, -1.0}) {
      CHECK(found_at(sign * 6.5) == 0);
      CHECK(found_at(sign * 7.5) == 1);
    }
    // None of 11,520 samples of noise.
    Plane noisy = Plane::copy_of(even.view());
    test::add_noise(noisy.view(), kSigma, 5);
    align::PaddedFrame frame;
    frame.assign(noisy.view());
    CHECK(bounds.repair(frame, nullptr, align::ShiftField(kSize), 1, kSigma).empty());
  }

  namespace {

  using Places = std::set<std::pair<int, int>>;

  // Bounds and span of a scene, and what a search of every place by itself finds, without the quick
  // look that passes over parts.
  struct PlainSearch {
    Plane low, high;
    float darkest, brightest;

    explicit PlainSearch(const Plane& sharp)
        : low(lowest_nearby(sharp, 6)),
          high(highest_nearby(sharp, 6)),
          darkest(sharp.row(0)[0]),
          brightest(darkest) {
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) {
          darkest = std::min(darkest, sharp.row(y)[x]);
          brightest = std::max(brightest, sharp.row(y)[x]);
        }
      }
    }

    [[nodiscard]] float margin() const { return 0.2F * (brightest - darkest) + 7 * 0.02F; }

    [[nodiscard]] Places found_in(const Plane& frame, const align::ShiftField& field) const {
      Places out;
      std::vector<float> x(field.row_size());
      std::vector<float> y(field.row_size());
      for (int row = 0; row < kSize.height_px; ++row) {
        field.coordinates(row, x.data(), y.data());
        for (int column = 0; column < kSize.width_px; ++column) {
          const auto i = static_cast<std::size_t>(column);
          const int at_x = static_cast<int>(std::floor(x[i] + 0.5F));
          const int at_y = static_cast<int>(std::floor(y[i] + 0.5F));
          if (at_x < 0 || at_y < 0 || at_x >= kSize.width_px || at_y >= kSize.height_px) continue;
          const float light = frame.row(at_y)[at_x];
          if (light > high.row(row)[column] + margin() || light < low.row(row)[column] - margin())
            out.insert({at_x, at_y});
        }
      }
      return out;
    }
  };

  align::ShiftField wavy(FrameOffset whole, double local) {
    align::ShiftField field(kSize, whole);
    for (std::size_t n = 0; n < field.local_x.size(); ++n) {
      field.local_x[n] = static_cast<float>(local * std::sin(0.7 * static_cast<double>(n)));
      field.local_y[n] = static_cast<float>(local * std::cos(0.3 * static_cast<double>(n)));
    }
    return field;
  }

  Places repaired(const stack::OutlierBounds& bounds, const Plane& plane,
                  const align::ShiftField& field) {
    align::PaddedFrame frame;
    frame.assign(plane.view());
    Places out;
    for (const Place& place : bounds.repair(frame, nullptr, field, 1, 0.02))
      out.insert({place.x, place.y});
    return out;
  }

  }  // namespace

  TEST_CASE("what is found is what a plain search finds, whatever the shift") {
    const test::Scene scene(kSize, 31);
    const Plane sharp = scene.seen(kSize, [](int, int) { return Displacement{}; });
    const stack::OutlierBounds bounds(sharp.view(), ones().view());
    const PlainSearch plain(sharp);
    Plane struck = Plane::copy_of(sharp.view());
    for (int y = 1; y < kSize.height_px; y += 5) {
      for (int x = y % 7; x < kSize.width_px; x += 11)
        struck.row(y)[x] = (x + y) % 2 == 0 ? plain.brightest + 3 * plain.margin()
                                            : plain.darkest - 3 * plain.margin();
    }
    for (const double local : {0.0, 1.5, 2.9, 4.5, 8.0}) {
      for (const FrameOffset whole :
           {FrameOffset{}, FrameOffset{-9.4, 6.6}, FrameOffset{40.5, -3}}) {
        CAPTURE(local);
        CAPTURE(whole.x_px);
        const align::ShiftField field = wavy(whole, local);
        const Places expected = plain.found_in(struck, field);
        CHECK(expected.size() > 50);
        CHECK(repaired(bounds, struck, field) == expected);
      }
    }
  }

  // The frame is looked at in parts of 64 px, into which shifts reach from beyond.
  TEST_CASE("a single hit is found, also at the border of a part") {
    const test::Scene scene(kSize, 31);
    const Plane sharp = scene.seen(kSize, [](int, int) { return Displacement{}; });
    const stack::OutlierBounds bounds(sharp.view(), ones().view());
    const PlainSearch plain(sharp);
    int found = 0;
    for (const FrameOffset whole : {FrameOffset{}, FrameOffset{-2.5, 1.5}}) {
      const align::ShiftField field = wavy(whole, 2.9);
      for (int y = 54; y < 74; ++y) {
        for (int x = 54; x < 74; ++x) {
          Plane struck = Plane::copy_of(sharp.view());
          struck.row(y)[x] = plain.brightest + 3 * plain.margin();
          const Places expected = plain.found_in(struck, field);
          found += static_cast<int>(expected.size());
          CHECK(repaired(bounds, struck, field) == expected);
        }
      }
    }
    CHECK(found > 500);
  }

  TEST_CASE("the colours of a struck pixel follow its luminance, its neighbours do not") {
    const test::Scene scene(kSize, 31);
    const Plane sharp = scene.seen(kSize, [](int, int) { return Displacement{}; });
    const stack::OutlierBounds bounds(sharp.view(), ones().view());
    auto samples = std::make_shared<std::vector<std::uint8_t>>();
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x)
        samples->push_back(static_cast<std::uint8_t>(std::lround(200 * sharp.row(y)[x])));
    }
    constexpr int kX = 30;
    constexpr int kY = 20;
    (*samples)[static_cast<std::size_t>(std::ptrdiff_t{kY} * kSize.width_px + kX)] = 255;
    capture::Frame frame;
    frame.planes[0] = {reinterpret_cast<const std::byte*>(samples->data()), kSize.width_px,
                       kSize.height_px, kSize.width_px, SampleType::u8};
    frame.storage = samples;
    capture::CaptureInfo info;
    info.size = kSize;
    info.colour = capture::Colour::cfa;
    info.cfa = capture::Cfa::rggb;
    info.sample_type = SampleType::u8;
    info.scale = {0, 1.0 / 200};
    stack::ColourFrame colours;
    colours.assign(frame, info);
    const float hit = colours.plane(0).view().row(kY)[kX];
    const float beside = colours.plane(0).view().row(kY)[kX + 1];
    Plane bright = Plane::copy_of(sharp.view());
    bright.row(kY)[kX] = 3;
    align::PaddedFrame luminance;
    luminance.assign(bright.view());
    CHECK(bounds.repair(luminance, &colours, align::ShiftField(kSize), 1, 0.005).size() == 1);
    const float bound = luminance.view().row(kY)[kX];
    CHECK(bound < 1);
    const auto expected = static_cast<double>(hit * bound / 3);
    CHECK(colours.plane(0).view().row(kY)[kX] == doctest::Approx(expected));
    CHECK(colours.plane(0).view().row(kY)[kX + 1] == beside);
  }

  TEST_CASE("where the reference knows nothing there is no bound") {
    const test::Scene scene(kSize, 31);
    const Plane sharp = scene.seen(kSize, [](int, int) { return Displacement{}; });
    const Plane nowhere(kSize);
    const stack::OutlierBounds bounds(sharp.view(), nowhere.view());
    Plane struck = frame_of(scene);
    struck.row(20)[30] = 5;
    align::PaddedFrame frame;
    frame.assign(struck.view());
    CHECK(bounds.repair(frame, nullptr, align::ShiftField(kSize), 2, 0.02).empty());
  }

  TEST_CASE("what repeats a sample beyond the edges follows it") {
    const Plane even = ones();
    align::PaddedFrame frame;
    frame.assign(even.view());
    frame.set(0, kSize.height_px - 1, 7);
    CHECK(frame.origin()[-4 + (kSize.height_px + 3) * frame.stride_elems()] == 7);
    CHECK(frame.origin()[1 + (kSize.height_px + 3) * frame.stride_elems()] == 1);
    CHECK(frame.origin()[-1 + (kSize.height_px - 2) * frame.stride_elems()] == 1);
  }
}
