#include "run/mosaic_header.h"

#include <doctest/doctest.h>

#include "mosaic/blend.h"
#include "run/mosaic_file.h"
#include "run/stack_header.h"
#include "support/temporary_folder.h"

using namespace lull;

TEST_SUITE("run/mosaic_header") {
  TEST_CASE("the cards of a mosaic come back from its file as they were, in their order") {
    std::vector<run::PanelInput> panels(2);
    for (run::PanelInput& panel : panels) {
      panel.cards = {{"NFRAMES", std::int64_t{500}, "frames in the capture"},
                     {"NUSABLE", std::int64_t{490}, "frames that can be used"},
                     {"NKEPT", std::int64_t{100}, "frames in the stack"},
                     {"SCALE", 1.5, "enlargement"},
                     {"OBJECT", std::string("moon"), "what is recorded"},
                     {"APERTURE", 203.0, "mm"},
                     {"PIXSCALE", 0.21, "arcsec"},
                     {"DATE-OBS", std::string("2026-11-30T20:00:00.000"), "first frame"},
                     {"DATE-END", std::string("2026-11-30T20:02:00.000"), "last frame"}};
    }
    panels[1].cards[5].value = 150.0;  // of another telescope: not told
    mosaic::Layout layout;
    layout.group = {0, 1};
    const std::vector<files::Card> cards = run::mosaic_cards(panels, layout);
    const test::TemporaryFolder folder;
    mosaic::Blending plan;
    plan.mosaic = {32, 32};
    run::MosaicFile file(folder / "m.linear.fits", plan, cards);
    file.commit({});
    const std::vector<files::Card> read = run::read_stack_cards(folder / "m.linear.fits");
    REQUIRE(read.size() == cards.size());
    CHECK(cards.size() == 10);
    for (std::size_t i = 0; i < cards.size(); ++i) {
      CAPTURE(i);
      CHECK(read[i].key == cards[i].key);
      CHECK(read[i].value == cards[i].value);
      CHECK(read[i].comment == cards[i].comment);
    }
    CHECK(*run::find_card<std::int64_t>(read, "NKEPT") == 200);
    CHECK(run::find_card<double>(read, "APERTURE") == nullptr);
  }
}
