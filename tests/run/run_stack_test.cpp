// Covers: run/stack_outcome, run/control, core/cancel, core/progress
// A program that stacks without the command line: it links lull::run and no cli.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>

#include "calibrate/turned_capture.h"
#include "capture/video_writer.h"
#include "run/stack_outcome.h"
#include "support/bytes.h"
#include "support/temporary_folder.h"

TEST_SUITE("run/run_stack") {
  namespace {

  // Value of an integer card: columns 11 to 30 (FITS standard 4.0, section 4.2.3).
  long long card_of(const std::string& header, const std::string& key) {
    std::string name = key;
    name.resize(8, ' ');
    const auto at = header.find(name + "= ");
    return at == std::string::npos ? -1 : std::stoll(header.substr(at + 10, 20));
  }

  // The highest normalised correlation of two planes within 6 px.
  double correlation_of(const lull::Plane& a, const lull::Plane& b) {
    constexpr int kReach = 6;
    double best = -1;
    for (int dy = -kReach; dy <= kReach; ++dy) {
      for (int dx = -kReach; dx <= kReach; ++dx) {
        double n = 0, sa = 0, sb = 0, saa = 0, sbb = 0, sab = 0;
        for (int y = kReach; y < a.height() - kReach; ++y) {
          for (int x = kReach; x < a.width() - kReach; ++x) {
            const auto u = static_cast<double>(a.row(y)[x]);
            const auto v = static_cast<double>(b.row(y + dy)[x + dx]);
            n += 1;
            sa += u;
            sb += v;
            saa += u * u;
            sbb += v * v;
            sab += u * v;
          }
        }
        best = std::max(best,
                        (n * sab - sa * sb) / std::sqrt((n * saa - sa * sa) * (n * sbb - sb * sb)));
      }
    }
    return best;
  }

  }  // namespace

  TEST_CASE("a request in, an outcome and its files out; progress is shown, a cancel is obeyed") {
    using namespace lull;
    const test::TemporaryFolder folder;
    run::StackRequest request;
    request.input.captures = {std::string(LULL_SAMPLES) + "/highland.mkv"};
    request.output = folder.file("moon.tif");
    request.stacking.keep = quality::KeepCount{20};
    run::RunControl control;
    int steps = 0;
    control.progress = Progress([&steps](auto, auto, auto) { ++steps; });
    const run::StackOutcome outcome = run::run_stack(request, control);
    CHECK(outcome.result.kept.size() == 20);
    CHECK(steps > 20);
    for (const std::string& path : outcome.written) CHECK(std::filesystem::exists(path));
    const std::string linear = test::text_of(folder.file("moon.linear.fits"));
    const auto& records = outcome.health.survey.records;
    CHECK(card_of(linear, "NFRAMES") == static_cast<long long>(records.size()));
    CHECK(card_of(linear, "NUSABLE") ==
          std::count_if(records.begin(), records.end(), [](const auto& r) { return !r.reject; }));
    CHECK(card_of(linear, "NKEPT") == 20);

    const CancelToken cancel;
    request.output = folder.file("other.tif");
    control.progress = Progress([&](auto, auto, auto) { cancel.cancel(); }, cancel);
    CHECK_THROWS_AS(static_cast<void>(run::run_stack(request, control)), Interrupted);
    CHECK_FALSE(std::filesystem::exists(request.output));
  }

  TEST_CASE("frames that are turned by 180 degrees are turned back: the same picture comes out") {
    using namespace lull;
    const test::TemporaryFolder folder;
    const std::string upright = std::string(LULL_SAMPLES) + "/highland.mkv";
    const std::string flipped = folder.file("flipped.mkv");
    const auto source =
        calibrate::turned_back(capture::Capture::open(upright), {{{60, 1000}, Turn::half}});
    capture::VideoWriter writer(flipped, source->info(), 100);
    for (auto frame = source->next(); frame.ok(); frame = source->next()) writer.add(frame.value());
    writer.finish();

    const auto stacked = [&](const std::string& capture, const char* name) {
      run::StackRequest request;
      request.input.captures = {capture};
      request.output = folder.file(name);
      request.stacking.keep = quality::KeepCount{40};
      return run::run_stack(request, {});
    };
    const run::StackOutcome plain = stacked(upright, "plain.tif");
    const run::StackOutcome turned = stacked(flipped, "turned.tif");
    CHECK_FALSE(plain.orientation.changes());
    REQUIRE(turned.orientation.turned.size() == 1);
    CHECK(turned.orientation.turned[0].turn == Turn::half);
    CHECK(turned.orientation.turned[0].frames.first == 60);
    CHECK(std::any_of(turned.notes.begin(), turned.notes.end(), [](const std::string& note) {
      return note.find("turned by 180 degrees") != std::string::npos;
    }));
    const auto cut = [&](const run::StackOutcome& outcome) {
      const PlaneView picture = outcome.result.picture.view();
      Plane out(128, 128);
      for (int y = 0; y < 128; ++y)
        for (int x = 0; x < 128; ++x)
          out.row(y)[x] = picture.at(picture.width_px / 2 - 64 + x, picture.height_px / 2 - 64 + y);
      return out;
    };
    CHECK(correlation_of(cut(plain), cut(turned)) > 0.99);
  }
}
