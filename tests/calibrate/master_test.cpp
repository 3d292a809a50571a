// Covers: calibrate/master_frame, calibrate/row_kernels
#include "calibrate/master.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <numeric>
#include <random>
#include <tuple>

#include "core/cpu.h"
#include "core/parallel.h"
#include "support/frames.h"
#include "support/memory_capture.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::test;
using calibrate::average;
using calibrate::Master;

TEST_SUITE("calibrate/master") {
  namespace {

  constexpr Size kSize{37, 23};
  constexpr auto kArea = static_cast<std::size_t>(std::ptrdiff_t{kSize.width_px} * kSize.height_px);

  /// Frames of a level with noise that is uniform in [-3, 3]: its sigma is 2, so that no sample
  /// lies 4 sigma from the mean.
  std::vector<Samples> even_frames(int count, unsigned seed, std::size_t planes = 1) {
    std::mt19937 random(seed);
    std::uniform_int_distribution<int> noise(-3, 3);
    std::vector<Samples> frames(static_cast<std::size_t>(count));
    for (Samples& frame : frames) {
      for (std::size_t i = 0; i < planes * kArea; ++i) {
        frame.push_back(static_cast<std::uint16_t>(100 + static_cast<int>(i % 50) + noise(random)));
      }
    }
    return frames;
  }

  /// Mean of the samples of pixel i over the frames but one.
  double mean_without(const std::vector<Samples>& frames, std::size_t i, std::size_t left_out) {
    double sum = 0;
    for (std::size_t f = 0; f < frames.size(); ++f) sum += f == left_out ? 0 : frames[f][i];
    return sum / static_cast<double>(frames.size() - (left_out < frames.size() ? 1 : 0));
  }

  double value_at(const Master& master, std::size_t i, std::size_t plane = 0) {
    return static_cast<double>(master.planes[plane].view().at(
        static_cast<int>(i) % kSize.width_px, static_cast<int>(i) / kSize.width_px));
  }

  bool same_planes(const Master& a, const Master& b) {
    bool same = a.planes.size() == b.planes.size();
    for (std::size_t p = 0; same && p < a.planes.size(); ++p) {
      for (int y = 0; y < a.planes[p].height(); ++y) {
        same = same && std::equal(a.planes[p].row(y), a.planes[p].row(y) + a.planes[p].width(),
                                  b.planes[p].row(y));
      }
    }
    return same;
  }

  constexpr std::size_t kNone = 1000000;

  }  // namespace

  TEST_CASE("a cosmic ray in one frame does not reach the mean, from 5 frames on") {
    // Samuelson 1968, How deviant can you be?, JASA 63, 1522 (from memory): among n samples none
    // lies further than (n-1)/sqrt(n) sigma from their mean, 1.79 for 5 and 3.88 for 17. So a
    // clip at 4 sigma that did not trim first could not pass this test under 18 frames.
    for (const int count : {5, 6, 10, 17, 18, 60}) {
      CAPTURE(count);
      auto frames = even_frames(count, 20250307);
      const std::size_t hit = 400;
      const std::size_t hit_frame = static_cast<std::size_t>(count / 2);
      frames[hit_frame][hit] = 3900;
      MemoryCapture capture(mono_info(kSize, 12), frames);
      const Master master = average(capture);
      CHECK(master.frames == count);
      CHECK(value_at(master, hit) ==
            doctest::Approx(mean_without(frames, hit, hit_frame)).epsilon(1e-6));
      for (std::size_t i = 0; i < kArea; ++i) {
        if (i == hit) continue;
        CHECK(value_at(master, i) == doctest::Approx(mean_without(frames, i, kNone)).epsilon(1e-6));
      }
    }
  }

  TEST_CASE("a dead sample, as dark as a hit is bright, is left out too") {
    auto frames = even_frames(30, 5);
    frames[3][12] = 0;
    MemoryCapture capture(mono_info(kSize, 12), frames);
    CHECK(value_at(average(capture), 12) ==
          doctest::Approx(mean_without(frames, 12, 3)).epsilon(1e-6));
  }

  TEST_CASE("Gaussian noise is clipped as rarely as its tails ask for") {
    // Beyond 4 sigma lie 6.33e-5 of a Gaussian's samples (tables of the normal distribution). With
    // 60 frames 0.4 % of the pixels would lose a sample; sigma is itself estimated, hence 2 %.
    std::mt19937 random(77);
    std::normal_distribution<double> noise(1000, 12);
    std::vector<Samples> frames(60);
    for (Samples& frame : frames) {
      frame = samples_of(kSize, [&](int, int) { return noise(random); });
    }
    MemoryCapture capture(mono_info(kSize, 12), frames);
    const Master master = average(capture);
    std::size_t changed = 0;
    for (std::size_t i = 0; i < kArea; ++i) {
      changed += std::abs(value_at(master, i) - mean_without(frames, i, kNone)) > 1e-3 ? 1U : 0U;
    }
    CHECK(changed < kArea / 50);
  }

  TEST_CASE("a dark whose samples are 0 and seldom 1 keeps its mean") {
    // Sigma is 0 at most pixels here; clipping at 4 times that would turn the rare ones away.
    std::vector<Samples> frames(50, Samples(kArea, 0));
    for (std::size_t i = 0; i < kArea; ++i) frames[i % 50][i] = 1;
    MemoryCapture capture(mono_info(kSize, 8), frames);
    const Master master = average(capture);
    for (std::size_t i = 0; i < kArea; ++i) CHECK(value_at(master, i) == doctest::Approx(0.02));
  }

  TEST_CASE("fewer than 5 frames give the plain mean") {
    auto frames = even_frames(4, 9);
    frames[1][7] = 4000;
    MemoryCapture capture(mono_info(kSize, 12), frames);
    const Master master = average(capture);
    CHECK(value_at(master, 7) == doctest::Approx(mean_without(frames, 7, kNone)).epsilon(1e-6));
  }

  TEST_CASE("shuffled frames give the same bytes, on any number of threads and at any level") {
    auto frames = even_frames(40, 3, 3);
    frames[20][100] = 2000;
    MemoryCapture first(rgb_info(kSize, 12), frames);
    const Master expected = average(first);
    CHECK(expected.planes.size() == 3);
    std::shuffle(frames.begin(), frames.end(), std::mt19937(1));
    const CpuLevel best = cpu_level();
    for (const int threads : {1, 2, 3, 8}) {
      for (const CpuLevel level : {CpuLevel::baseline, CpuLevel::avx2, CpuLevel::avx512}) {
        if (level > best) continue;
        set_thread_count(threads);
        set_cpu_level(level);
        MemoryCapture shuffled(rgb_info(kSize, 12), frames);
        CHECK(same_planes(average(shuffled), expected));
      }
    }
    set_thread_count(0);
    set_cpu_level(best);
  }

  TEST_CASE("planes of colour are averaged apart") {
    std::vector<Samples> frames(6);
    for (Samples& frame : frames) {
      for (const int level : {10, 200, 90})
        frame.insert(frame.end(), kArea, static_cast<std::uint16_t>(level));
    }
    MemoryCapture capture(rgb_info(kSize, 8), frames);
    const Master master = average(capture);
    CHECK(value_at(master, 5, 0) == doctest::Approx(10));
    CHECK(value_at(master, 5, 1) == doctest::Approx(200));
    CHECK(value_at(master, 5, 2) == doctest::Approx(90));
  }

  TEST_CASE("damaged frames are left out and counted; nothing else is an error") {
    const auto frames = even_frames(8, 4);
    MemoryCapture capture(mono_info(kSize, 12), frames, {0, 5});
    const Master master = average(capture);
    CHECK(master.frames == 6);
    CHECK(master.damaged == 2);
    MemoryCapture hopeless(mono_info(kSize, 12), even_frames(2, 4), {0, 1});
    CHECK_THROWS_AS(std::ignore = average(hopeless), InputError);
  }

  TEST_CASE("a file that grows while it is read is refused, not averaged wrongly") {
    MemoryCapture capture(mono_info(kSize, 12), even_frames(8, 4));
    const Progress grow([&](std::string_view, std::int64_t done, std::int64_t total) {
      if (total == 8 && done == 0) capture.frames().push_back(capture.frames()[0]);
    });
    CHECK_THROWS_AS(std::ignore = average(capture, grow), InputError);
  }

  TEST_CASE("a cancelled run ends") {
    const CancelToken cancel;
    cancel.cancel();
    MemoryCapture capture(mono_info(kSize, 12), even_frames(8, 4));
    CHECK_THROWS_AS(std::ignore = average(capture, Progress({}, cancel)), Interrupted);
  }

  TEST_CASE("captures, numbered pictures and single pictures are read from files") {
    const TemporaryFolder folder;
    const auto frames = even_frames(7, 6);
    const auto write = [&](const std::string& name, const std::string& codec, std::size_t count) {
      VideoFormat format;
      format.codec = codec;
      format.pixel_format = "gray";
      format.width_px = kSize.width_px;
      format.height_px = kSize.height_px;
      std::vector<std::vector<std::byte>> pictures;
      for (std::size_t f = 0; f < count; ++f) {
        const std::vector<std::uint8_t> bytes(frames[f].begin(), frames[f].end());
        pictures.push_back(bytes_of(bytes));
      }
      write_video(folder.file(name), format, pictures);
      return calibrate::read_master(folder.file(name));
    };
    for (const Master& master : {write("dark.mkv", "ffv1", 7), write("dark_%03d.png", "png", 7)}) {
      CHECK(master.frames == 7);
      CHECK(master.source.size == kSize);
      CHECK(value_at(master, 40) == doctest::Approx(mean_without(frames, 40, kNone)).epsilon(1e-6));
    }
    const Master single = write("one_%d.png", "png", 1);
    CHECK(single.frames == 1);
    CHECK(value_at(single, 40) == doctest::Approx(frames[0][40]));
    CHECK_THROWS_AS(std::ignore = calibrate::read_master(folder.file("none.ser")), InputError);
  }
}
