#include "run/mosaic_moved.h"

#include <doctest/doctest.h>

#include "support/text.h"

using namespace lull;

TEST_SUITE("run/mosaic_moved") {
  namespace {

  run::PanelInput panel_of(const std::string& path, const std::string& date) {
    run::PanelInput out;
    out.path = path;
    if (!date.empty()) out.cards.push_back({"DATE-AVG", date, ""});
    return out;
  }

  }  // namespace

  TEST_CASE("minutes between panels, in words that fit them") {
    const auto evening = panel_of("a", "2026-11-30T20:00:00.0");
    const auto later = panel_of("b", "2026-11-30T21:35:00.0");
    CHECK(run::minutes_apart(evening, later) == doctest::Approx(95));
    CHECK(run::minutes_apart(later, evening) == doctest::Approx(95));
    CHECK_FALSE(run::minutes_apart(evening, panel_of("c", "")));
    CHECK(run::span_text(1) == "1 minute");
    CHECK(run::span_text(95) == "95 minutes");
    CHECK(run::span_text(150) == "2.5 hours");
    CHECK(run::span_text(24 * 60 * 3) == "3 days");
  }

  TEST_CASE("panels of the same minutes have the same shadows; of unknown times they may differ") {
    const std::vector<run::PanelInput> panels = {
        panel_of("a", "2026-11-30T20:00:00"), panel_of("b", "2026-11-30T20:04:00"),
        panel_of("c", "2026-11-30T20:06:00"), panel_of("d", "")};
    const auto links =
        run::links_over_time(panels, {{0, 1, {}}, {0, 2, {}}, {1, 2, {}}, {2, 3, {}}});
    REQUIRE(links.size() == 2);
    CHECK(links[0].second == 2);
    CHECK(links[1].second == 3);
  }

  TEST_CASE("overlaps that changed are told, those that changed most first, no more than four") {
    std::vector<run::PanelInput> panels;
    for (int i = 0; i < 7; ++i)
      panels.push_back(panel_of("p" + std::to_string(i), i == 3 ? "" : "2026-11-30T20:00:00"));
    panels[1].cards = {{"DATE-AVG", std::string("2026-11-30T22:30:00"), ""}};
    mosaic::MovedLight moved;
    for (std::size_t i = 0; i < 6; ++i)
      moved.overlaps.push_back({i, i + 1, 0.01 * static_cast<double>(i + 1)});
    moved.overlaps[0].share = 0.5;
    const auto notes = run::moved_notes(panels, moved);
    REQUIRE(notes.size() == 1);
    const std::string& note = notes[0];
    CHECK(test::contains(note, "there: 'p0' and 'p1' (2.5 hours apart, 50.0% of what both show);"));
    CHECK(test::contains(note, "; 'p5' and 'p6' ("));
    CHECK(test::contains(note, "; 'p3' and 'p4' (4.0% of what both show); 2 pairs more. Record"));
    const nlohmann::json json = run::moved_json(panels, moved);
    CHECK(json.size() == 6);
    CHECK(json[0]["minutes_apart"] == doctest::Approx(150));
    CHECK(json[3]["minutes_apart"].is_null());
    CHECK(run::moved_notes(panels, {}).empty());
  }
}
