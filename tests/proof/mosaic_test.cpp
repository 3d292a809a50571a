#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "lab/mosaic_plan.h"
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

  // Where in the scene the lab's panels of these parameters lie, in the order of their files. Bends
  // have waves of 100 px: the places that truth.json holds, every 32 px, are too few for them.
  class TruePlaces {
   public:
    explicit TruePlaces(const lab::MosaicParameters& parameters)
        : parameters_(parameters),
          disc_(lab::disc_of(parameters)),
          plans_(lab::plan_panels(parameters)) {
      std::sort(plans_.begin(), plans_.end(),
                [](const auto& a, const auto& b) { return a.number < b.number; });
    }

    [[nodiscard]] Displacement at(mosaic::PanelIndex panel, Displacement pixel) const {
      return lab::scene_place(parameters_, plans_[panel], disc_, pixel);
    }

   private:
    lab::MosaicParameters parameters_;
    lab::SceneDisc disc_;
    std::vector<lab::PanelPlan> plans_;
  };

  struct Overlaps {
    std::size_t panels = 0;
    double rms_px = 0;  // of what two panels show at one place, where both have light
    double median_px = 0;
    std::size_t places = 0;
  };

  Overlaps overlaps_of(const std::string& folder, const TruePlaces& truth_at, mosaic::Bends bends) {
    std::ifstream text(folder + "/truth.json");
    const nlohmann::json truth = nlohmann::json::parse(text);
    std::vector<run::PanelInput> inputs;
    std::vector<mosaic::Sketch> sketches;
    for (const auto& panel : truth.at("panels")) {
      run::ReadPanel read =
          run::read_panel_input(folder + "/" + panel.at("file").get<std::string>());
      inputs.push_back(std::move(read.input));
      sketches.push_back(std::move(read.sketch));
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
          const Displacement d = truth_at.at(link.first, {x, y}) - truth_at.at(link.second, q);
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

  TEST_CASE(
      "panels meet within 0.2 px in good air and 0.5 in poor, closer with bends than without") {
    struct Sky {
      const char* air;
      double most_px;
    };

    for (const Sky& sky : {Sky{"good", 0.2}, Sky{"poor", 0.5}}) {
      CAPTURE(sky.air);
      const test::TemporaryFolder folder;
      const test::Run made =
          test::run_sim({"mosaic", "--columns", "3", "--rows", "2", "--panel", "480x360",
                         "--overlap", "25%", "--air", sky.air, "-o", folder.path(), "--quiet"});
      CAPTURE(made.errors);
      REQUIRE(made.status == 0);
      lab::MosaicParameters parameters;
      parameters.columns = 3;
      parameters.rows = 2;
      parameters.panel = {480, 360};
      parameters.overlap = 0.25;
      parameters.air = lab::panel_air(sky.air);
      const TruePlaces truth(parameters);
      const Overlaps bent = overlaps_of(folder.path(), truth, mosaic::Bends::followed);
      const Overlaps rigid = overlaps_of(folder.path(), truth, mosaic::Bends::left);
      CAPTURE(bent.rms_px);
      CAPTURE(rigid.rms_px);
      CHECK(bent.panels == 6);
      CHECK(bent.rms_px < sky.most_px);
      CHECK(bent.rms_px < 0.5 * rigid.rms_px);
    }
  }
}
