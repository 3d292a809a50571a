// Covers: run/stack_outcome, run/control, core/cancel, core/progress
// A program that stacks without the command line: it links lull::run and no cli.
#include <doctest/doctest.h>

#include <filesystem>
#include <string>

#include "run/stack_outcome.h"
#include "support/temporary_folder.h"

TEST_SUITE("run/run_stack") {
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

    const CancelToken cancel;
    request.output = folder.file("other.tif");
    control.progress = Progress([&](auto, auto, auto) { cancel.cancel(); }, cancel);
    CHECK_THROWS_AS(static_cast<void>(run::run_stack(request, control)), Interrupted);
    CHECK_FALSE(std::filesystem::exists(request.output));
  }
}
