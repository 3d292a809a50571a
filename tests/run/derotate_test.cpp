// Covers: run/derotate_request, run/derotate_outcome, run/run_derotate, run/globe_stack
// Covers: run/joint_radius, run/facing
#include "globe/derotate.h"

#include <doctest/doctest.h>

#include <cmath>
#include <string>
#include <vector>

#include "core/error.h"
#include "files/picture_file.h"
#include "run/derotate_outcome.h"
#include "run/drawn_stacks.h"
#include "run/facing.h"
#include "run/finish_input.h"
#include "run/stack_header.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::run;

TEST_SUITE("run/derotate") {
  namespace {

  constexpr Size kSize{140, 130};
  constexpr double kNorth_deg = 20;
  constexpr double kNoise = 0.006;
  const Utc kMiddle = parse_iso8601("2026-11-30T04:00:00").value();

  Plane jupiter_at(const Pose& pose) { return DrawnPlanet{.middle = kMiddle}.at(pose); }

  std::string stack_file(const test::TemporaryFolder& folder, const std::string& name,
                         const Pose& pose, std::vector<files::Card> more = {}) {
    return DrawnPlanet{.middle = kMiddle}.stack(folder, name, pose, std::move(more));
  }

  DerotateRequest request_for(std::vector<std::string> stacks, std::string output) {
    DerotateRequest request;
    request.stacks = std::move(stacks);
    request.output = std::move(output);
    request.object = Object::jupiter;
    request.turning.north_deg = kNorth_deg;
    return request;
  }

  // Within 80% of the radius, dB of full scale.
  double psnr_db(const Plane& truth, const Plane& other) {
    double sum = 0;
    int n = 0;
    for (int y = 0; y < kSize.height_px; ++y) {
      for (int x = 0; x < kSize.width_px; ++x) {
        if (std::hypot(x - 69.4, y - 65.3) > 40) continue;
        const double d =
            static_cast<double>(truth.row(y)[x]) - static_cast<double>(other.row(y)[x]);
        sum += d * d;
        ++n;
      }
    }
    return 10 * std::log10(n / sum);
  }

  std::string refusal(const DerotateRequest& request) {
    return test::message_of<RunError>(
        [&] { static_cast<void>(run_derotate(request, RunControl{})); });
  }

  }  // namespace

  TEST_CASE("five stacks of 16 minutes become one of their middle, less noisy and not smeared") {
    const test::TemporaryFolder folder;
    std::vector<std::string> stacks;
    for (int i = -2; i <= 2; ++i)
      stacks.push_back(stack_file(folder, "stack" + std::to_string(i) + ".linear.fits",
                                  {240.0 * i, 69.4 + 0.8 * i, 65.3 - 0.5 * i, 50},
                                  {{"DATE-OBS", iso8601(after(kMiddle, 240.0 * i - 30)), ""},
                                   {"DATE-END", iso8601(after(kMiddle, 240.0 * i + 30)), ""}}));
    const auto outcome = run_derotate(request_for(stacks, folder.file("out.fits")), {});
    CHECK(std::abs(seconds_between(kMiddle, outcome.moment)) < 10);
    // The noise of each limb is averaged out of what they share.
    for (const DerotatedStack& stack : outcome.stacks) {
      CHECK(std::abs(stack.radius_px - 50) < 0.06);
      CHECK(stack.radius_px == doctest::Approx(outcome.stacks[0].radius_px).epsilon(1e-4));
    }
    CHECK(std::abs(outcome.stacks[0].x_px - 67.8) < 0.15);
    CHECK(std::abs(outcome.stacks[0].turned_deg - 36.27 * 8 / 60) < 0.2);
    CHECK(std::abs(outcome.stacks[0].weight - 0.2) < 0.01);
    const FinishInput result = read_finish_input(folder.file("out.fits"));
    REQUIRE(result.has_halves);
    const Plane truth = jupiter_at({});
    const double one = psnr_db(truth, read_finish_input(stacks[2]).picture.channels[0]);
    const double far = psnr_db(truth, read_finish_input(stacks[0]).picture.channels[0]);
    const double all = psnr_db(truth, result.picture.channels[0]);
    CAPTURE(one);
    CAPTURE(far);
    CAPTURE(all);
    // Five times the light alone would give 7 dB over one stack of the right moment.
    CHECK(all > one + 5);
    CHECK(all > far + 15);
    // The noise plane tells the noise of the result: of five stacks.
    double square = 0;
    for (int y = 50; y < 80; ++y) {
      for (int x = 50; x < 90; ++x)
        square += std::pow(static_cast<double>(result.measured.noise[0].row(y)[x]), 2);
    }
    const double noise = std::sqrt(square / 1200);
    CHECK(noise < 1.1 * kNoise / std::sqrt(5));
    CHECK(noise > 0.6 * kNoise / std::sqrt(5));
    CHECK(*find_card<std::int64_t>(result.cards, "DEROTATE") == 5);
    const auto moment = parse_iso8601(*find_card<std::string>(result.cards, "DATE-AVG"));
    CHECK(std::abs(seconds_between(moment.value(), kMiddle)) < 10);
    // From the first frame of the first stack to the last of the last.
    CHECK(*find_card<std::string>(result.cards, "DATE-OBS") == iso8601(after(kMiddle, -510)));
    CHECK(*find_card<std::string>(result.cards, "DATE-END") == iso8601(after(kMiddle, 510)));
  }

  TEST_CASE("a mirrored picture is turned the other way") {
    const test::TemporaryFolder folder;
    Pose early{-900};
    early.mirrored = true;
    Pose now;
    now.mirrored = true;
    DerotateRequest request =
        request_for({stack_file(folder, "early.fits", early), stack_file(folder, "now.fits", now)},
                    folder.file("out.fits"));
    request.turning.mirrored = Mirrored::yes;
    request.turning.moment = kMiddle;
    static_cast<void>(run_derotate(request, {}));
    const Plane truth = jupiter_at(now);
    const double right = psnr_db(truth, read_finish_input(request.output).picture.channels[0]);
    CHECK(right > 40);
  }

  TEST_CASE("north is found without help, and what comes after a meridian flip is turned back") {
    const test::TemporaryFolder folder;
    std::vector<std::string> stacks;
    for (int i = -2; i <= 2; ++i) {
      Pose pose{240.0 * i, 69.4 + 0.8 * i, 65.3 - 0.5 * i, 50};
      if (i > 0) pose.turned_deg = 180;
      stacks.push_back(stack_file(folder, "s" + std::to_string(i) + ".fits", pose));
    }
    DerotateRequest request = request_for(stacks, folder.file("out.fits"));
    request.turning.north_deg.reset();
    request.turning.moment = kMiddle;
    const auto outcome = run_derotate(request, {});
    CHECK(outcome.north_found);
    CHECK(std::abs(outcome.north_deg - kNorth_deg) < 3);
    CHECK_FALSE(outcome.mirrored);
    CHECK_FALSE(outcome.stacks[2].turned_about);
    CHECK(outcome.stacks[3].turned_about);
    CHECK(outcome.stacks[4].turned_about);
    const Plane truth = jupiter_at({});
    const double one = psnr_db(truth, read_finish_input(stacks[2]).picture.channels[0]);
    const double all = psnr_db(truth, read_finish_input(request.output).picture.channels[0]);
    CAPTURE(one);
    CHECK(all > one + 4);
  }

  TEST_CASE("of a whole night the faces of one side are compared") {
    std::vector<globe::DatedFace> faces;
    for (const double later_s : {0.0, 8900.0, 9600.0, 14'000.0, 14'900.0, 15'200.0, 30'000.0}) {
      faces.emplace_back();
      faces.back().face.later_s = later_s;
    }
    // 60 degrees of Jupiter are 99 minutes.
    const auto side = of_one_side(faces, sky::Body::jupiter, kMiddle);
    REQUIRE(side.size() == 4);
    CHECK(side.front().face.later_s == 9600);
    CHECK(side.back().face.later_s == 15'200);
  }

  TEST_CASE("what cannot be brought together is refused in words") {
    const test::TemporaryFolder folder;
    const std::string good = stack_file(folder, "good.fits", {});
    const std::string later = stack_file(folder, "later.fits", {300});
    const std::string out = folder.file("out.fits");
    const DerotateRequest fine = request_for({good, later}, out);
    const auto with = [&](auto change) {
      DerotateRequest request = fine;
      change(request);
      return refusal(request);
    };
    using test::contains;
    CHECK(contains(with([&](auto& r) {
                     r.turning.north_deg.reset();
                     r.stacks = {good, stack_file(folder, "soon.fits", {20})};
                   }),
                   "1.5 px are needed"));
    CHECK(contains(with([](auto& r) { r.turning.north_deg = kNorth_deg + 180; }),
                   "against the turn of Jupiter"));
    CHECK(contains(with([](auto& r) { r.turning.mirrored = Mirrored::yes; }), "leave out"));
    CHECK(contains(with([&](auto& r) { r.stacks = {good}; }), "nothing to be brought to"));
    CHECK(contains(with([](auto& r) { r.object = Object::venus; }), "crescents are thin"));
    // It has no rings.
    CHECK(contains(with([](auto& r) { r.object = Object::saturn; }), "no rings are found"));
    CHECK(contains(with([](auto& r) { r.object = Object::star; }), "jupiter"));
    CHECK(contains(with([](auto& r) { r.object = Object::unspecified; }), "which planet is it?"));
    CHECK(contains(with([&](auto& r) { r.output = folder.file("out.tif"); }), "must end in .fits"));
    const auto second = [&](const std::string& path) {
      return with([&](auto& r) { r.stacks = {good, path}; });
    };
    CHECK(contains(
        second(stack_file(folder, "undated.fits", {300}, {{"DATE-AVG", std::string("?"), ""}})),
        "has no date"));
    CHECK(contains(second(stack_file(folder, "small.fits", {300}, {{"PIXSCALE", 0.2, ""}})),
                   "it should have"));
    // Saturn has 9.3 arcsec of radius on that day, which are 50 px of 0.187 arcsec.
    CHECK(contains(second(stack_file(folder, "saturn.fits", {300}, {{"PIXSCALE", 0.187, ""}})),
                   "(Saturn would have"));
    CHECK(contains(second(stack_file(folder, "cut.fits", {300, 30, 65, 50})), "cut by the edge"));
    CHECK(contains(second(stack_file(folder, "late.fits", {6 * 3600.0})), "another face"));
    CHECK(contains(second(stack_file(folder, "tiny.fits", {300, 69, 65, 4})), "no limb"));
    CHECK(refusal(fine).empty());
    CHECK(contains(refusal(fine), "exist"));
  }
}
