// Covers: stack/frame_at_work, stack/batch_steps
#include "stack/frame_batch.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <map>
#include <memory>
#include <utility>

#include "stack/stacker.h"
#include "support/memory_capture.h"
#include "support/scene.h"

TEST_SUITE("stack/frame_batch") {
  namespace {

  using namespace lull;

  constexpr Size kSize{128, 112};
  constexpr int kFrames = 90;
  constexpr std::size_t kReference = 60;  // of them, best first

  /// Counts how often each frame is read again.
  class CountingCapture : public test::MemoryCapture {
   public:
    CountingCapture(test::MemoryCapture&& capture, std::map<FrameIndex, int>& reads)
        : MemoryCapture(std::move(capture)), reads_(reads) {}

    [[nodiscard]] Outcome<capture::Frame> at(FrameIndex index) override {
      ++reads_[index];
      return MemoryCapture::at(index);
    }

   private:
    std::map<FrameIndex, int>& reads_;
  };

  // Noisy frames of a scene that moves. Some are struck, so that stages repair them.
  test::MemoryCapture struck_frames() {
    const test::Scene scene(kSize, 5);
    std::vector<Plane> frames;
    for (int i = 0; i < kFrames; ++i) {
      frames.push_back(scene.seen(kSize, [i](int x, int) {
        return Displacement{2 * std::sin(i * 1.1) + 0.5 * std::sin(x / 25.0 + i),
                            std::cos(i * 0.7)};
      }));
      test::add_noise(frames.back().view(), 0.02, static_cast<std::uint32_t>(i));
      if (i % 3 == 0) frames.back().row(15 + i)[60] = 1;
    }
    return test::capture_of(frames);
  }

  struct Run {
    stack::StackResult result;
    std::map<FrameIndex, int> reads;
  };

  // @param cached  frames that the store has room for.
  Run stacked(std::size_t cached) {
    Run run;
    auto source = std::make_unique<CountingCapture>(struck_frames(), run.reads);
    const std::size_t bytes = capture::FrameStore::cached_bytes(source->at(0).value());
    source->rewind();
    capture::FrameStore store(std::move(source), cached * bytes);
    const survey::Survey survey = survey::survey_capture(store, {}, {});
    run.reads.clear();
    stack::StackOptions options;
    options.keep = quality::parse_keep("100%");
    run.result = stack::stack(store, survey, options, {});
    return run;
  }

  int most_reads_of_reference(const Run& run) {
    int most = 0;
    for (std::size_t i = 0; i < kReference; ++i) {
      const auto found = run.reads.find(run.result.kept[i]);
      if (found != run.reads.end()) most = std::max(most, found->second);
    }
    return most;
  }

  }  // namespace

  TEST_CASE("frames of the reference are read again once where they fit, with the same result") {
    const Run roomy = stacked(kReference + 2);
    const Run none = stacked(0);
    REQUIRE(roomy.result.kept.size() == kFrames);
    CHECK(most_reads_of_reference(roomy) == 1);
    CHECK(most_reads_of_reference(none) >= 6);
    REQUIRE(roomy.result.outliers > 0);
    CHECK(roomy.result.outliers == none.result.outliers);
    REQUIRE(roomy.result.picture.size() == none.result.picture.size());
    for (int y = 0; y < roomy.result.picture.height(); ++y) {
      for (int x = 0; x < roomy.result.picture.width(); ++x)
        REQUIRE(roomy.result.picture.row(y)[x] == none.result.picture.row(y)[x]);
    }
  }
}
