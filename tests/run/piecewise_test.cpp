// Covers: run/piecewise_stack, run/piecewise_facts, run/piecewise_join
// Covers: run/globe_sight, run/turning
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <string>
#include <vector>

#include "core/error.h"
#include "globe/globe_scene.h"
#include "run/finish_input.h"
#include "run/stack_header.h"
#include "run/stack_outcome.h"
#include "support/temporary_folder.h"
#include "support/text.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::run;

TEST_SUITE("run/piecewise") {
  namespace {

  constexpr Size kFrame{112, 106};
  constexpr double kRadius_px = 40;
  constexpr double kDegreesNorth = -35;
  constexpr double kFrameNoise = 0.012;
  constexpr int kBursts = 6;
  constexpr int kInBurst = 10;
  constexpr int kBetween_s = 600;  // 4.2 px: 21 px in all, more than registration follows by itself
  const Utc kBegun = parse_iso8601("2026-11-30T03:30:00").value();

  // Jupiter as it stands `later_s` after the begin of the capture.
  Plane planet_at(double later_s, double x_px, double y_px) {
    const sky::Aspect aspect =
        sky::aspect_of(sky::Body::jupiter, sky::Observer(after(kBegun, later_s)));
    const globe::GlobePlace place{x_px, y_px, kRadius_px,
                                  (kDegreesNorth - aspect.pole_deg) * sky::kDegree, false};
    const globe::GlobeView view(globe::shape_of(sky::Body::jupiter, aspect), place);
    Plane plane = globe::drawn(view, kFrame, 0.9, globe::spotted, 1.0);
    scale(plane.view(), 0.7F);
    return plane;
  }

  // Bursts of frames, far apart. @param begun  empty: the file states no date.
  std::string capture_in(const test::TemporaryFolder& folder, const std::string& name,
                         const std::string& begun, int between_s = kBetween_s) {
    test::VideoFormat format;
    format.width_px = kFrame.width_px;
    format.height_px = kFrame.height_px;
    format.codec = "ffv1";
    format.frames_per_s = 1;
    format.begun = begun;
    test::VideoWriter writer(folder.file(name), format);
    for (int burst = 0; burst < kBursts; ++burst) {
      const Plane planet = planet_at(between_s * burst, 55.3, 52.6);
      for (int i = 0; i < kInBurst; ++i) {
        Plane frame = Plane::copy_of(planet.view());
        globe::add_noise(frame, kFrameNoise, static_cast<std::uint64_t>(100 * burst + i));
        std::vector<std::uint8_t> samples;
        for (int y = 0; y < kFrame.height_px; ++y) {
          for (int x = 0; x < kFrame.width_px; ++x)
            samples.push_back(
                static_cast<std::uint8_t>(std::clamp(255 * frame.row(y)[x] + 8, 0.0F, 255.0F)));
        }
        writer.add(test::bytes_of(samples));
      }
      writer.skip(between_s - kInBurst);
    }
    writer.finish();
    return folder.file(name);
  }

  StackRequest request_for(const std::string& capture, const std::string& output) {
    StackRequest request;
    request.input.captures = {capture};
    request.output = output;
    request.stacking.keep = quality::KeepFraction{1};
    request.stacking.fusion = FusionChoice::selection;
    request.finish = FinishChoice::none;
    request.report.where = ReportChoice::Where::nowhere;
    request.look.object = Object::jupiter;
    request.stacking.derotate = DerotateChoice::automatic;
    request.turning.north_deg = kDegreesNorth;
    return request;
  }

  // Within 80% of the radius of the truth, dB of full scale, after removing the level.
  double psnr_db(const Plane& truth, const Plane& other, double x0, double y0) {
    double sum = 0;
    double square = 0;
    int n = 0;
    for (int y = 0; y < other.height(); ++y) {
      for (int x = 0; x < other.width(); ++x) {
        if (std::hypot(x - x0, y - y0) > 0.8 * kRadius_px) continue;
        const double d =
            static_cast<double>(truth.row(y)[x]) - static_cast<double>(other.row(y)[x]);
        sum += d;
        square += d * d;
        ++n;
      }
    }
    return -10 * std::log10(square / n - sum * sum / n / n);
  }

  std::string refusal_of_stack(const StackRequest& request) {
    return test::message_of<RunError>([&] { static_cast<void>(run_stack(request, RunControl{})); });
  }

  }  // namespace

  TEST_CASE("50 minutes become one moment: sharper than without, and as noisy as all frames") {
    const test::TemporaryFolder folder;
    const std::string capture = capture_in(folder, "jupiter.mkv", "2026-11-30T03:30:00Z");
    StackRequest request = request_for(capture, folder.file("turned.fits"));
    const StackOutcome turned = run_stack(request, {});
    REQUIRE(turned.derotated);
    const PiecewiseFacts& facts = *turned.derotated;
    CHECK(facts.pieces.size() == kBursts);
    CHECK(facts.left_out.empty());
    CHECK(facts.smear_px <= 2.5);
    CHECK(facts.whole_smear_px > 20);
    const double middle_s = 2.5 * kBetween_s + 0.5 * (kInBurst - 1);
    CHECK(std::abs(seconds_between(kBegun, facts.moment) - middle_s) < 1);
    CHECK(std::abs(facts.limb.place.radius_px - kRadius_px) < 0.4);
    CHECK(turned.result.kept.size() == kBursts * kInBurst);
    request.stacking.derotate = DerotateChoice::off;
    request.turning = {};
    request.output = folder.file("plain.fits");
    const StackOutcome plain = run_stack(request, {});
    const globe::GlobePlace& place = facts.limb.place;
    const Plane truth = planet_at(middle_s, place.x_px, place.y_px);
    const double good = psnr_db(truth, turned.result.picture, place.x_px, place.y_px);
    const Displacement crop{static_cast<double>(turned.result.crop.x0 - plain.result.crop.x0),
                            static_cast<double>(turned.result.crop.y0 - plain.result.crop.y0)};
    const double x = place.x_px + crop.x_px;
    const double y = place.y_px + crop.y_px;
    const double poor = psnr_db(planet_at(middle_s, x, y), plain.result.picture, x, y);
    CAPTURE(good);
    CAPTURE(poor);
    CHECK(good > poor + 3);
    // That of the mean of all frames, less what interpolation smooths.
    CHECK(turned.result.noise < 1.1 * kFrameNoise / std::sqrt(60));
    CHECK(turned.result.noise > 0.4 * kFrameNoise / std::sqrt(60));
    const FinishInput written = read_finish_input(folder.file("turned.fits"));
    REQUIRE(written.has_halves);
    CHECK(*find_card<std::int64_t>(written.cards, "DEROTATE") == kBursts);
    const auto date = parse_iso8601(*find_card<std::string>(written.cards, "DATE-AVG"));
    CHECK(std::abs(seconds_between(date.value(), facts.moment)) < 1e-3);
    CHECK(turned.figures.at("derotated").at("pieces").size() == kBursts);
  }

  TEST_CASE(
      "north is found, --to brings them to any moment, --keep auto keeps a share of all pieces") {
    const test::TemporaryFolder folder;
    StackRequest request =
        request_for(capture_in(folder, "a.mkv", "2026-11-30T03:30:00Z"), folder.file("a.fits"));
    request.stacking.keep = quality::KeepAuto{};
    request.turning.moment = kBegun;
    request.turning.north_deg.reset();
    const StackOutcome outcome = run_stack(request, {});
    const PiecewiseFacts& facts = *outcome.derotated;
    CHECK(facts.moment == kBegun);
    CHECK(facts.pieces.size() == kBursts);
    // All frames are alike, and faint: each piece that is asked chooses all of its own.
    CHECK(outcome.result.kept.size() == kBursts * kInBurst);
    const globe::GlobePlace& place = facts.limb.place;
    const double at_begin = psnr_db(planet_at(0, place.x_px, place.y_px), outcome.result.picture,
                                    place.x_px, place.y_px);
    const double at_end = psnr_db(planet_at(5 * kBetween_s, place.x_px, place.y_px),
                                  outcome.result.picture, place.x_px, place.y_px);
    CHECK(at_begin > at_end + 3);
    CHECK(facts.north_found);
    CHECK(std::abs(facts.north_deg - kDegreesNorth) < 4);
    CHECK_FALSE(facts.mirrored);
    // Jupiter is seen from above its equator.
    CHECK(facts.text().find("nothing tells whether the pictures are mirrored") !=
          std::string::npos);
  }

  TEST_CASE("what cannot be derotated is refused with the reason") {
    const test::TemporaryFolder folder;
    const std::string capture = capture_in(folder, "x.mkv", "2026-11-30T03:30:00Z");
    const auto with = [&](auto&& change) {
      StackRequest request = request_for(capture, folder.file("x.fits"));
      change(request);
      return refusal_of_stack(request);
    };
    using test::contains;
    CHECK(contains(with([](auto& r) { r.look.object = Object::unspecified; }), "which planet"));
    CHECK(contains(with([](auto& r) { r.look.object = Object::saturn; }), "no rings are found"));
    CHECK(contains(with([](auto& r) { r.look.object = Object::venus; }), "crescents are thin"));
    CHECK(contains(with([](auto& r) { r.stacking.scale = 2; }), "lull derotate"));
    CHECK(contains(with([](auto& r) { r.stacking.area = FrameArea::whole; }), "--frame"));
    CHECK(contains(with([](auto& r) {
                     r.instrument.aperture_mm = 200;
                     r.instrument.focal_length_mm = 2000;
                     r.instrument.pixel_um = 2;
                   }),
                   "should have"));
    CHECK(contains(with([](auto& r) { r.turning.moment = parse_iso8601("2026-11-30T09:00:00"); }),
                   "another face"));
    StackRequest dateless = request_for(capture_in(folder, "y.mkv", ""), folder.file("y.fits"));
    CHECK(contains(refusal_of_stack(dateless), "does not state when"));
    CHECK_FALSE(std::filesystem::exists(folder.file("x.fits")));
  }
}
