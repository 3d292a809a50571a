// Covers: cli/derotate_text
// What the program prints of a run whose figures are made up here, so that each differs.
#include "cli/texts.h"

#include <doctest/doctest.h>

#include "support/text.h"

using namespace lull;
using test::contains;

TEST_SUITE("cli/texts") {
  TEST_CASE("a derotated stack is printed with its moment, turn, weight and limb") {
    run::DerotateOutcome outcome;
    outcome.moment = parse_iso8601("2026-11-30T04:00:00").value();
    outcome.central_meridian_deg = 123.4;
    outcome.stacks = {
        {"a.fits", parse_iso8601("2026-11-30T03:50:00").value(), 70.25, 65.5, 50.12, 0.25, 6.1}};
    outcome.resolution = 0.2;
    const std::string text = cli::derotate_text(outcome);
    CHECK(contains(text, "Jupiter at 2026-11-30T04:00:00 UTC, longitude of the middle 123.4"));
    CHECK(contains(text, "a.fits: 03:50:00, turned +6.1 degrees, weight 25%"));
    CHECK(contains(text, "centre 70.25, 65.50 px, radius 50.12 px"));
    CHECK(contains(text, "resolution: 5.00 px"));
    CHECK_FALSE(contains(text, "map:"));
    outcome.map = {720, 360, 2, 0.756};
    CHECK(contains(cli::derotate_text(outcome),
                   "map: 720 x 360 px, 2 pixels a degree, 76% of it was seen"));
  }

  // By hand: 30 samples of 3 frames of 100 x 10 px are 1%.
  TEST_CASE("the share of outliers is that of all samples in the stack") {
    run::StackOutcome outcome;
    outcome.info.size = {100, 10};
    outcome.result.picture = Plane(100, 10);
    outcome.result.outliers = 30;
    outcome.result.steps = {{2, 0, 0}, {3, 0, 0}};
    CHECK(contains(test::on_one_line(cli::stack_text(outcome)), "outliers: 1.0% of the samples"));
  }

  TEST_CASE("the longest gap is printed with its length, and where it begins") {
    run::InspectOutcome outcome;
    health::Timing timing;
    timing.interval_s = 0.01;
    timing.duration_s = 10;
    timing.gaps = 2;
    timing.missing_frames = 37;
    timing.longest_gap_s = 0.25;
    timing.longest_gap_at_s = 4.5;
    outcome.health.timing = timing;
    const std::string text = test::on_one_line(cli::inspect_text(outcome));
    CHECK(contains(text, "10.00 s at 100.00 frames/s"));
    CHECK(contains(text, "2 gaps, 37 frames missing, longest 0.25 s at 4.50 s"));
  }
}
