// Covers: stack/candidates, stack/reference, stack/final_stack, stack/frame_batch
// Covers: stack/keep_step, quality/structure
#include "stack/stacker.h"

#include <doctest/doctest.h>

#include <cmath>
#include <numbers>
#include <numeric>
#include <random>

#include "core/error.h"
#include "spectrum/radial_filter.h"
#include "support/scene.h"

namespace {

using namespace lull;

constexpr Size kSize{128, 112};

// A capture in memory, 8 bit mono.
class MemoryCapture : public capture::Capture {
 public:
  explicit MemoryCapture(const std::vector<Plane>& frames) {
    for (const Plane& plane : frames) {
      auto bytes = std::make_shared<std::vector<std::uint8_t>>();
      for (int y = 0; y < plane.height(); ++y) {
        for (int x = 0; x < plane.width(); ++x) {
          bytes->push_back(static_cast<std::uint8_t>(
              std::lround(std::clamp(plane.row(y)[x], 0.0F, 1.0F) * 255.0F)));
        }
      }
      samples_.push_back(std::move(bytes));
    }
    info_.path = "memory";
    info_.size = kSize;
    info_.storage.intra_only = true;
  }

  const capture::CaptureInfo& info() const override { return info_; }

  Outcome<capture::Frame> next() override { return at(next_); }

  void rewind() override { next_ = 0; }

  Outcome<capture::Frame> at(FrameIndex index) override {
    if (index >= static_cast<FrameIndex>(samples_.size())) return Reject::past_the_end;
    next_ = index + 1;
    capture::Frame frame;
    frame.index = index;
    frame.time_s = static_cast<double>(index) / 100;
    const auto& bytes = samples_[static_cast<std::size_t>(index)];
    frame.planes[0] = {reinterpret_cast<const std::byte*>(bytes->data()), kSize.width_px,
                       kSize.height_px, kSize.width_px, SampleType::u8};
    frame.storage = bytes;
    return frame;
  }

  Tally tally() const override { return {next_, 0}; }

 private:
  std::vector<std::shared_ptr<std::vector<std::uint8_t>>> samples_;
  capture::CaptureInfo info_;
  FrameIndex next_ = 0;
};

stack::StackResult stacked(const std::vector<Plane>& frames, const stack::StackOptions& options,
                           std::optional<quality::Metric> metric = {}) {
  capture::FrameStore store(std::make_unique<MemoryCapture>(frames), 1U << 28);
  const survey::Survey survey = survey::survey_capture(store, {metric}, {});
  return stack::stack(store, survey, options, {});
}

// What the sensor adds to each row and each column.
void add_offsets(Plane& frame, double rows, double columns) {
  Plane row(Size{1, frame.height()});
  Plane column(Size{frame.width(), 1});
  test::add_noise(row.view(), rows, 7);
  test::add_noise(column.view(), columns, 8);
  for (int y = 0; y < frame.height(); ++y) {
    for (int x = 0; x < frame.width(); ++x) frame.row(y)[x] += row.row(y)[0] + column.row(0)[x];
  }
}

// Root mean square of what a stack differs by from the scene. The reference's own place is not
// known: the best whole shift is looked for.
double distance(const stack::StackResult& result, const test::Scene& scene) {
  double best = 1e9;
  for (int i = -16; i <= 16; ++i) {
    for (int j = -16; j <= 16; ++j) {
      const double dx = 0.25 * i;
      const double dy = 0.25 * j;
      double squares = 0;
      int count = 0;
      for (int y = 16; y < result.picture.height() - 16; y += 3) {
        for (int x = 16; x < result.picture.width() - 16; x += 3) {
          const double error = static_cast<double>(result.picture.row(y)[x]) -
                               scene.at(x + result.crop.x0 + dx, y + result.crop.y0 + dy);
          squares += error * error;
          ++count;
        }
      }
      best = std::min(best, std::sqrt(squares / count));
    }
  }
  return best;
}

double mean_light(const stack::StackResult& result) {
  double sum = 0;
  for (int y = 0; y < result.picture.height(); ++y)
    sum =
        std::accumulate(result.picture.row(y), result.picture.row(y) + result.picture.width(), sum);
  return sum / static_cast<double>(result.picture.size().area_px());
}

}  // namespace

TEST_SUITE("stack/stacker") {
  TEST_CASE("a stack of warped noisy frames is nearer to the scene than any frame by far") {
    const test::Scene scene(kSize, 17);
    const auto frame_at = [&](int i) {
      Plane frame = scene.seen(kSize, [i](int x, int y) {
        return Displacement{2 * std::sin(i * 1.1) + 0.8 * std::sin(x / 25.0 + i),
                            2 * std::cos(i * 0.7) + 0.8 * std::cos(y / 22.0 - i)};
      });
      test::add_noise(frame.view(), 0.03, static_cast<std::uint32_t>(i));
      return frame;
    };
    std::vector<Plane> frames;
    frames.reserve(40);
    for (int i = 0; i < 40; ++i) frames.push_back(frame_at(i));
    stack::StackOptions options;
    options.keep = quality::parse_keep("100%");
    const auto result = stacked(frames, options);
    CHECK(result.kept.size() == 40);
    REQUIRE(result.frc.resolution().has_value());
    // A frame: noise alone is 0.03, its shift and warp several times that.
    CHECK(distance(result, scene) < 0.02);
    CHECK(result.noise < 0.03 / std::sqrt(40.0) * 1.5);
  }

  // The truth is the scatter of pixels over repeats with other noise.
  TEST_CASE("the noise is that of a pixel over repeats, within a seventh") {
    constexpr int kRepeats = 6;
    const test::Scene scene(kSize, 19);
    stack::StackOptions options;
    options.keep = quality::parse_keep("100%");
    options.fusion = stack::Fusion::none;
    options.comparison = stack::Comparison::none;
    std::vector<stack::StackResult> results;
    for (int repeat = 0; repeat < kRepeats; ++repeat) {
      std::vector<Plane> frames;
      for (int i = 0; i < 24; ++i) {
        frames.push_back(scene.seen(kSize, [](int, int) { return Displacement{}; }));
        test::add_noise(frames.back().view(), 0.03, static_cast<std::uint32_t>(1000 * repeat + i));
      }
      results.push_back(stacked(frames, options));
    }
    double squares = 0;
    double count = 0;
    double told = 0;
    for (const auto& result : results) told += result.noise / kRepeats;
    for (int y = 16; y < kSize.height_px - 16; ++y) {
      for (int x = 16; x < kSize.width_px - 16; ++x) {
        double sum = 0;
        double sum_squares = 0;
        for (const auto& result : results) {
          const auto value =
              static_cast<double>(result.picture.row(y - result.crop.y0)[x - result.crop.x0]);
          sum += value;
          sum_squares += value * value;
        }
        squares += (sum_squares - sum * sum / kRepeats) / (kRepeats - 1);
        ++count;
      }
    }
    const double scatter = std::sqrt(squares / count);
    CAPTURE(scatter);
    CAPTURE(told);
    CHECK(told > scatter / 1.15);
    CHECK(told < scatter * 1.15);
  }

  // By hand: node k of a shift field is the middle of pixels 8 k to 8 k + 7, at 8 k + 3.5. A
  // frame's pixel p is at (p + 0.5) s - 0.5 of a picture s times as large.
  TEST_CASE("the nodes of an enlarged stack lie where those of the frames do") {
    const test::Scene scene(kSize, 21);
    std::vector<Plane> frames;
    for (int i = 0; i < 30; ++i) {
      frames.push_back(scene.seen(kSize, [i](int, int) {
        // Most are some px off the first ones, which are the sharpest: a crop that begins inside.
        return Displacement{i < 8 ? 0.0 : 5.0 + 0.3 * std::sin(i), i < 8 ? 0.0 : -4.0};
      }));
      test::add_noise(frames.back().view(), i < 8 ? 0.005 : 0.02, static_cast<std::uint32_t>(i));
    }
    for (const double scale : {1.0, 1.5, 2.0}) {
      CAPTURE(scale);
      stack::StackOptions options;
      options.keep = quality::parse_keep("100%");
      options.enlargement = {scale, 0.8};
      options.fusion = stack::Fusion::none;
      options.comparison = stack::Comparison::none;
      const auto result = stacked(frames, options);
      const auto expected = [&](int from) {
        const int node = static_cast<int>(std::ceil((from - 3.5) / 8));
        return (8 * node + 3.5 + 0.5) * scale - 0.5 - std::ceil(from * scale);
      };
      CHECK(result.effective_frames.step_px == 8 * scale);
      CHECK(result.effective_frames.x0_px == doctest::Approx(expected(result.crop.x0)));
      CHECK(result.effective_frames.y0_px == doctest::Approx(expected(result.crop.y0)));
    }
  }

  TEST_CASE("patches are the larger the coarser the finest detail is, unless their size is given") {
    const auto patch_of = [](double finest_px, double given_px) {
      const test::Scene scene(kSize, 31, finest_px, 8 * finest_px);
      std::vector<Plane> frames;
      for (int i = 0; i < 40; ++i) {
        frames.push_back(scene.seen(kSize, [i](int x, int y) {
          return Displacement{std::sin(i * 1.1) + 0.5 * std::sin(x / 25.0 + i),
                              std::cos(i * 0.7) + 0.5 * std::cos(y / 22.0 - i)};
        }));
        test::add_noise(frames.back().view(), 0.02, static_cast<std::uint32_t>(i));
      }
      stack::StackOptions options;
      options.patch_px = given_px;
      return stacked(frames, options).patch_px;
    };
    const double fine = patch_of(1.0, 0);
    const double coarse = patch_of(3.0, 0);
    MESSAGE("patches of " << fine << " and " << coarse << " px");
    CHECK(fine > 24);
    CHECK(fine < 64);
    CHECK(coarse > 1.3 * fine);
    CHECK(coarse < 128);
    CHECK(patch_of(3.0, 40) == doctest::Approx(40));
  }

  TEST_CASE("what the sharp frames have in common of distortion is not that of the stack") {
    const test::Scene scene(kSize, 23);
    // Every third frame is sharp, all distorted in the same way. The others are soft and distorted
    // the opposite way by half as much, so that the mean distortion is 0.
    const auto bend = [](double amplitude, int x, int y) {
      return Displacement{amplitude * std::sin(x / 16.0), amplitude * std::cos(y / 14.0)};
    };
    constexpr double kBend = 1.0;
    std::vector<Plane> frames;
    for (int i = 0; i < 90; ++i) {
      const bool sharp = i % 3 == 0;
      Plane frame =
          scene.seen(kSize, [&](int x, int y) { return bend(sharp ? kBend : -kBend / 2, x, y); });
      if (!sharp) {
        std::vector<spectrum::FilterPoint>
            blur;  // of a Gaussian with a standard deviation of 1.5 px
        for (int step = 0; step <= 36; ++step) {
          const double f = 0.02 * step;
          blur.push_back({f, std::exp(-2 * std::pow(std::numbers::pi * 1.5 * f, 2))});
        }
        frame = spectrum::filtered(frame.view(), blur);
      }
      test::add_noise(frame.view(), 0.02, static_cast<std::uint32_t>(i));
      frames.push_back(std::move(frame));
    }
    stack::StackOptions options;
    options.keep = quality::parse_keep("30%");
    options.patch_px = 48;
    const auto result = stacked(frames, options);
    // The bend that explains the stack best.
    double least = 1e9;
    double found = 0;
    for (int step = -30; step <= 30; ++step) {
      const double amplitude = 0.05 * step;
      double squares = 0;
      for (int y = 16; y < result.picture.height() - 16; y += 2) {
        for (int x = 16; x < result.picture.width() - 16; x += 2) {
          const int sx = x + result.crop.x0;
          const int sy = y + result.crop.y0;
          const Displacement s = bend(amplitude, sx, sy);
          const double error =
              static_cast<double>(result.picture.row(y)[x]) - scene.at(sx + s.x_px, sy + s.y_px);
          squares += error * error;
        }
      }
      if (squares < least) {
        least = squares;
        found = amplitude;
      }
    }
    CHECK(std::abs(found) <= 0.25 * kBend);
  }

  TEST_CASE("bright tracks through a few frames leave the stack as it is without them") {
    const test::Scene scene(kSize, 29);
    const auto picture_of = [&](bool crossed) {
      std::vector<Plane> frames;
      for (int i = 0; i < 60; ++i) {
        Plane frame = scene.seen(kSize, [i](int x, int y) {
          return Displacement{std::sin(i * 1.3) + 0.5 * std::sin(x / 25.0 + i),
                              std::cos(i * 0.9) + 0.5 * std::cos(y / 22.0 - i)};
        });
        test::add_noise(frame.view(), 0.02, static_cast<std::uint32_t>(i));
        for (int x = 0; crossed && i % 12 == 5 && x < kSize.width_px; ++x) {
          const int y = std::clamp(10 + i + x / 3, 1, kSize.height_px - 1);
          frame.row(y)[x] = frame.row(y - 1)[x] = 1.0F;
        }
        frames.push_back(std::move(frame));
      }
      stack::StackOptions options;
      options.keep = quality::parse_keep("100%");
      return stacked(frames, options);
    };
    const auto clean = picture_of(false);
    const auto crossed = picture_of(true);
    CHECK(clean.outliers == 0);
    CHECK(crossed.outliers > 4 * kSize.width_px);
    // Half of the noise of a frame. Tracks that are let in, with the weight of sharp patches: 0.07.
    CHECK(distance(crossed, scene) < 0.01);
  }

  TEST_CASE("frames that are half of something else count for nothing") {
    const test::Scene scene(kSize, 37);
    const auto picture_of = [&](bool covered) {
      std::vector<Plane> frames;
      for (int i = 0; i < 60; ++i) {
        Plane frame = scene.seen(kSize, [i](int, int) {
          return Displacement{std::sin(i * 1.3), std::cos(i * 0.9)};
        });
        test::add_noise(frame.view(), 0.02, static_cast<std::uint32_t>(i));
        for (int y = 0; covered && i % 10 == 5 && y < kSize.height_px / 4; ++y)
          std::fill_n(frame.row(y), kSize.width_px, 1.0F);
        frames.push_back(std::move(frame));
      }
      stack::StackOptions options;
      options.keep = quality::parse_keep("100%");
      return stacked(frames, options);
    };
    const auto clean = picture_of(false);
    auto covered = picture_of(true);
    CHECK(clean.outliers == 0);
    CHECK(covered.outliers == 0);  // not repaired, left out
    // All of it is a little brighter, since the first reference was; its shape is what counts.
    scale(covered.picture.view(), static_cast<float>(mean_light(clean) / mean_light(covered)));
    CHECK(distance(covered, scene) < 1.5 * distance(clean, scene));
  }

  TEST_CASE("a flat field makes no stack, whatever pixels, rows or columns add to every frame") {
    struct Pattern {
      double pixels, rows, columns;  // of the noise
    };

    for (const Pattern& pattern : std::vector<Pattern>{
             {0, 0, 0}, {0.5, 0, 0}, {1, 0, 0}, {2, 0, 0}, {0, 1, 0}, {0, 2, 0}, {0, 1, 1}}) {
      Plane still(kSize);
      still.fill(0.4F);
      test::add_noise(still.view(), 0.01 * pattern.pixels, 99);
      add_offsets(still, 0.01 * pattern.rows, 0.01 * pattern.columns);
      for (const auto metric : {quality::Metric::fine, quality::Metric::coarse}) {
        CAPTURE(pattern.pixels);
        CAPTURE(pattern.rows);
        CAPTURE(pattern.columns);
        CAPTURE(quality::metric_name(metric));
        std::vector<Plane> frames;
        for (std::uint32_t i = 0; i < 60; ++i) {
          frames.push_back(Plane::copy_of(still.view()));
          test::add_noise(frames.back().view(), 0.01, i + 500);
        }
        CHECK_THROWS_AS(static_cast<void>(stacked(frames, {}, metric)), NothingUsable);
      }
    }
  }

  TEST_CASE("pure noise claims no detail, whether the object is searched for or given") {
    std::vector<Plane> frames;
    for (std::uint32_t i = 0; i < 40; ++i) {
      Plane frame(kSize);
      frame.fill(0.4F);
      test::add_noise(frame.view(), 0.05, i + 500);
      frames.push_back(std::move(frame));
    }
    capture::FrameStore store(std::make_unique<MemoryCapture>(frames), 1U << 28);
    survey::Survey survey = survey::survey_capture(store, {}, {});
    // The tracker finds nothing: at most its own reference frame, and its block's mean.
    CHECK(survey.usable() < 20);
    // Even if all frames are forced in, registration against a reference made of them must not
    // make the halves agree: the halves share that reference.
    for (auto& record : survey.records) {
      record.reject.reset();
      record.offset = {};
    }
    CHECK_FALSE(survey.shows_object());
    survey.structured = survey.measured;
    stack::StackOptions options;
    options.keep = quality::parse_keep("100%");
    const auto result = stack::stack(store, survey, options, {});
    CHECK_FALSE(result.frc.resolution().has_value());
    double sum = 0;
    for (const auto& ring : result.frc.rings) {
      sum += ring.correlation;
    }
    // What the shared reference adds by itself: 0.06 when this was written. It must stay far
    // below what counts as detail.
    CHECK(sum / static_cast<double>(result.frc.rings.size()) < 0.1);
    CHECK(result.frc.information_bits() < 0.05);
  }

  TEST_CASE("a disc over an even sky: wandering is not taken for missing rows, a cut is") {
    std::vector<Plane> frames;
    for (int i = 0; i < 40; ++i) {
      Plane frame(kSize);
      frame.fill(4.0F / 255);
      const double cx = 64 + 3 * std::sin(0.7 * i);
      const double cy = 50 - 14 * std::sin(0.3 * i);
      for (int y = 0; y < kSize.height_px; ++y) {
        for (int x = 0; x < kSize.width_px; ++x) {
          const double limb = 1 / (1 + std::exp((std::hypot(x - cx, y - cy) - 26) / 1.5));
          const double cover = 0.6 + 0.1 * std::sin(0.9 * (x - cx)) * std::cos(0.7 * (y - cy));
          frame.row(y)[x] += static_cast<float>(limb * cover);
        }
      }
      if (i == 17) {
        for (int y = static_cast<int>(cy); y < kSize.height_px; ++y)
          std::fill(frame.row(y), frame.row(y) + kSize.width_px, 0.0F);
      }
      frames.push_back(std::move(frame));
    }
    capture::FrameStore store(std::make_unique<MemoryCapture>(frames), 1U << 28);
    const survey::Survey survey = survey::survey_capture(store, {}, {});
    for (const auto& record : survey.records) {
      CAPTURE(record.index);
      CHECK((record.reject == Reject::damaged) == (record.index == 17));
    }
  }

  // A Gaussian of 2.5 px leaves exp(-2 pi^2 s^2 f^2) of the amplitude (Bracewell 2000): 0.29 at 0.1
  // cycles/px.
  TEST_CASE("keep auto leaves out frames that blur, takes three quarters of equal noisy ones") {
    const test::Scene scene(kSize, 29);
    std::vector<spectrum::FilterPoint> blur;
    blur.reserve(37);
    for (int step = 0; step <= 36; ++step) {
      const double f = 0.02 * step;
      blur.push_back({f, std::exp(-2 * std::pow(std::numbers::pi * 2.5 * f, 2))});
    }
    stack::StackOptions options;
    options.comparison = stack::Comparison::none;
    int asked = 0;
    options.transfer_of = [&asked](const auto& rings, double resolution) {
      ++asked;
      CHECK(!rings.empty());
      CHECK(resolution > 0);
      return [](double) { return 0.7; };
    };
    const auto kept = [&](int sharp, double noise) {
      std::vector<Plane> frames;
      for (int i = 0; i < 96; ++i) {
        Plane frame = scene.seen(kSize, [](int, int) { return Displacement{}; });
        if (i % 4 >= sharp) frame = spectrum::filtered(frame.view(), blur);
        test::add_noise(frame.view(), noise, static_cast<std::uint32_t>(i));
        frames.push_back(std::move(frame));
      }
      const auto result = stacked(frames, options);
      const stack::KeepStep& last = result.steps.back();
      CHECK(last.expected.has_value() == std::holds_alternative<quality::KeepAuto>(options.keep));
      CHECK(last.frames >= static_cast<std::int64_t>(result.kept.size()));
      return result.kept.size();
    };
    CHECK(kept(1, 0.004) <= 29);  // the next step after a quarter is 30%
    CHECK(asked == 1);
    CHECK(kept(4, 0.06) == 72);
    CHECK(asked == 2);
    options.keep = quality::parse_keep("50%");
    CHECK(kept(4, 0.06) == 48);
    CHECK(asked == 2);  // the share is given
  }

  TEST_CASE("fewer than two frames cannot be stacked") {
    const test::Scene scene(kSize, 17);
    std::vector<Plane> frames;
    frames.push_back(scene.seen(kSize, [](int, int) { return Displacement{}; }));
    CHECK_THROWS_AS(static_cast<void>(stacked(frames, {})), NothingUsable);
  }
}
