#include "stack/candidates.h"

#include <doctest/doctest.h>

#include <numbers>
#include <string>

#include "core/error.h"

TEST_SUITE("stack/candidates") {
  namespace {

  using namespace lull;

  // Frames by falling sharpness; those from `from` on lie at this offset from the others.
  survey::Survey survey_of(int frames, int from, FrameOffset offset) {
    survey::Survey survey;
    for (int i = 0; i < frames; ++i) {
      quality::FrameRecord record;
      record.index = i;
      record.sharpness = frames - i;
      record.noise = 0.01;
      if (i >= from) record.offset = offset;
      survey.records.push_back(record);
    }
    return survey;
  }

  }  // namespace

  // By hand: a place p of the reference is at p + offset in a frame of 128 x 112 px. With most
  // frames at (5.5, -7.25), p must be from -5.5 to 122.5 across and from 7.25 to 119.25 down: whole
  // pixels of both, less 3 px where the edge of the frames is, not where that of the reference is.
  TEST_CASE("the crop is what most frames cover, 3 px inside their edges") {
    for (const int sign : {1, -1}) {
      CAPTURE(sign);
      const auto survey = survey_of(40, 8, {sign * 5.5, sign * -7.25});
      const stack::Candidates candidates(survey, quality::parse_keep("100%"), "memory");
      REQUIRE(candidates.first_count() == 8);  // these make the reference
      CHECK(candidates.origin().x_px == 0);
      const Box box = candidates.covered(40, {128, 112});
      const Box expected = sign > 0 ? Box{0, 8 + 3, 122 - 3, 112} : Box{6 + 3, 0, 128, 104 - 3};
      CHECK(box.x0 == expected.x0);
      CHECK(box.y0 == expected.y0);
      CHECK(box.x1 == expected.x1);
      CHECK(box.y1 == expected.y1);
      // Of the reference's frames alone nothing is cut but the 3 px.
      const Box whole = candidates.covered(8, {128, 112});
      CHECK(whole.x0 == 3);
      CHECK(whole.y1 == 109);
    }
  }

  // By hand: of frames of 128 x 100 px that turn by up to 20 degrees either way, half turn by less
  // than 10. The ends of an edge of 100 px move by 50 sin 10 = 8.7 px, of one of 128 by 11.1 px.
  TEST_CASE("where the field turns the crop lies within half of the turned frames") {
    auto survey = survey_of(41, 41, {});
    const double most = 20 * std::numbers::pi / 180;
    survey.field_turn.curve = survey::TurnCurve{20, 20, {most, 0}};
    const stack::Candidates candidates(survey, quality::parse_keep("100%"), "memory");
    CHECK(candidates.covered(41, {128, 100}) == Box{3 + 9, 3 + 12, 125 - 9, 97 - 12});
    // Something is left of a narrow frame.
    CHECK(!candidates.covered(41, {1280, 20}).empty());
  }

  TEST_CASE("frames by count: three quarters, a tenth for the first reference, 60 at most") {
    const auto survey = survey_of(1000, 1000, {});
    const stack::Candidates automatic(survey, quality::KeepAuto{}, "memory");
    CHECK(automatic.count() == 750);
    CHECK(automatic.first_count() == 60);
    CHECK(automatic.refined_count() == 60);
    CHECK(automatic.checkpoints() ==
          std::vector<std::size_t>{75, 105, 150, 210, 300, 420, 600, 750});
    const auto few = survey_of(30, 30, {});
    const stack::Candidates given(few, quality::parse_keep("50%"), "memory");
    CHECK(given.count() == 15);
    CHECK(given.first_count() == 8);
    CHECK(given.refined_count() == 15);
    CHECK(given.checkpoints() == std::vector<std::size_t>{15});
    CHECK(given.median_sharpness() == 27);  // of 30 to 23, the upper of the middle two
  }

  TEST_CASE("evenly: places in time, rising; all of few") {
    auto survey = survey_of(10, 10, {});
    for (auto& record : survey.records) record.sharpness = static_cast<double>(record.index % 3);
    const stack::Candidates candidates(survey, quality::parse_keep("100%"), "memory");
    CHECK(candidates.evenly(20).size() == 10);
    // Frames 0, 2, 5 and 7 of ten.
    std::set<FrameIndex> frames;
    for (const std::size_t position : candidates.evenly(4))
      frames.insert(candidates.at(position).index);
    CHECK(frames == std::set<FrameIndex>{0, 2, 5, 7});
  }
}
