#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "mosaic/layout.h"
#include "run/panel_input.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

// Panels of the lab's Moon, each with air, pointing, turn and scale of its own, half of them after
// a meridian flip, against the truth of where each of their pixels lies.

using namespace lull;

TEST_SUITE("proof/mosaic") {
  namespace {

  constexpr float kDark = 0.05F;  // where nothing is seen that could be registered

  // Where in the scene a pixel of a panel lies, bilinear between the truth's nodes.
  class TruePlace {
   public:
    explicit TruePlace(const nlohmann::json& panel)
        : columns_(panel.at("grid").at("columns_px")),
          rows_(panel.at("grid").at("rows_px")),
          x_(panel.at("grid").at("x")),
          y_(panel.at("grid").at("y")) {}

    [[nodiscard]] Displacement at(Displacement pixel) const {
      const auto [c, right] = split(columns_, pixel.x_px);
      const auto [r, down] = split(rows_, pixel.y_px);
      const auto mix = [&, c = c, r = r, right = right, down = down](const auto& values) {
        const std::size_t at = r * columns_.size() + c;
        return std::lerp(
            std::lerp(values[at], values[at + 1], right),
            std::lerp(values[at + columns_.size()], values[at + columns_.size() + 1], right), down);
      };
      return {mix(x_), mix(y_)};
    }

   private:
    static std::pair<std::size_t, double> split(const std::vector<double>& nodes, double px) {
      const auto above = std::upper_bound(nodes.begin() + 1, nodes.end() - 1, px);
      const auto i = static_cast<std::size_t>(above - nodes.begin()) - 1;
      return {i, (px - nodes[i]) / (nodes[i + 1] - nodes[i])};
    }

    std::vector<double> columns_;
    std::vector<double> rows_;
    std::vector<double> x_;
    std::vector<double> y_;
  };

  struct Overlaps {
    std::size_t panels = 0;
    double rms_px = 0;  // of what two panels show at one place, where both have light
    double median_px = 0;
    std::size_t places = 0;
  };

  Overlaps overlaps_of(const std::string& folder, mosaic::Bends bends) {
    std::ifstream text(folder + "/truth.json");
    const nlohmann::json truth = nlohmann::json::parse(text);
    std::vector<run::PanelInput> inputs;
    std::vector<mosaic::Sketch> sketches;
    std::vector<TruePlace> places;
    for (const auto& panel : truth.at("panels")) {
      run::ReadPanel read =
          run::read_panel_input(folder + "/" + panel.at("file").get<std::string>());
      inputs.push_back(std::move(read.input));
      sketches.push_back(std::move(read.sketch));
      places.emplace_back(panel);
    }
    const mosaic::Layout layout =
        mosaic::lay_out(sketches, [&](mosaic::PanelIndex i) { return run::read_panel(inputs[i]); },
                        {.bends = bends, .blurs = mosaic::Blurs::left}, {});
    std::vector<double> off;
    for (const mosaic::Link& link : layout.links) {
      const auto& first = layout.maps[link.first];
      const auto& second = layout.maps[link.second];
      for (double y = 8; y < first.panel.height_px; y += 24) {
        for (double x = 8; x < first.panel.width_px; x += 24) {
          const Displacement q = second.to_panel(first.to_mosaic({x, y}));
          if (!mosaic::is_inside(second.panel, q, 8)) continue;
          const Displacement at = sketches[link.first].seen_at({x, y});
          const Plane& light = sketches[link.first].light.front();
          const int column = std::clamp(static_cast<int>(at.x_px), 0, light.width() - 1);
          const int row = std::clamp(static_cast<int>(at.y_px), 0, light.height() - 1);
          if (light.row(row)[column] < kDark) continue;
          const Displacement d = places[link.first].at({x, y}) - places[link.second].at(q);
          off.push_back(std::hypot(d.x_px, d.y_px));
        }
      }
    }
    Overlaps out{layout.group.size(), 0, 0, off.size()};
    for (const double px : off) out.rms_px += px * px / static_cast<double>(off.size());
    out.rms_px = std::sqrt(out.rms_px);
    std::nth_element(off.begin(), off.begin() + static_cast<std::ptrdiff_t>(off.size() / 2),
                     off.end());
    out.median_px = off[off.size() / 2];
    return out;
  }

  }  // namespace

  TEST_CASE("panels meet within a quarter of a pixel in good air, closer with bends than without") {
    const test::TemporaryFolder folder;
    const test::Run made =
        test::run_sim({"mosaic", "--columns", "3", "--rows", "2", "--panel", "480x360", "--overlap",
                       "25%", "--air", "good", "-o", folder.path(), "--quiet"});
    CAPTURE(made.errors);
    REQUIRE(made.status == 0);
    const Overlaps bent = overlaps_of(folder.path(), mosaic::Bends::followed);
    const Overlaps rigid = overlaps_of(folder.path(), mosaic::Bends::left);
    CAPTURE(bent.rms_px);
    CAPTURE(rigid.rms_px);
    CHECK(bent.panels == 6);
    CHECK(bent.rms_px < 0.25);
    CHECK(bent.rms_px < 0.6 * rigid.rms_px);
  }
}
