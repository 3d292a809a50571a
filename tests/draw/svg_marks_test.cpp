#include "draw/svg_marks.h"

#include <doctest/doctest.h>

#include <limits>
#include <set>
#include <string>
#include <vector>

using namespace lull::draw;

TEST_SUITE("draw/svg_marks") {
  namespace {

  constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();
  const std::vector<PlotPoint> kPlaces = {{0, 5}, {10, 2}, {20, kNothing}, {30, 4}};

  std::string drawn(PlotMark mark) { return svg_mark({mark, "#123456", ""}, kPlaces, 9); }

  std::size_t count(const std::string& text, const std::string& part) {
    std::size_t n = 0;
    for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
    return n;
  }

  }  // namespace

  TEST_CASE("lines and circles stand where the points are, and break where there is none") {
    CHECK(drawn(PlotMark::line).find("d=\"M0.00 5.00 L10.00 2.00 M30.00 4.00\"") !=
          std::string::npos);
    for (const PlotMark mark : {PlotMark::dots, PlotMark::rings}) {
      CHECK(count(drawn(mark), "<circle") == 3);
      CHECK(count(drawn(mark), "<path") == 0);
    }
    CHECK(count(drawn(PlotMark::points), "<circle") == 3);
    CHECK(count(drawn(PlotMark::points), "<path") == 1);
  }

  TEST_CASE("steps hold each value up to the next x; areas reach down to the axis") {
    const std::string steps = "d=\"M0.00 5.00 L10.00 5.00 L10.00 2.00 M30.00 4.00\"";
    CHECK(drawn(PlotMark::steps).find(steps) != std::string::npos);
    CHECK(drawn(PlotMark::area).find(steps) != std::string::npos);
    CHECK(drawn(PlotMark::area)
              .find("d=\"M0.00 9.00 L0.00 5.00 L10.00 5.00 L10.00 2.00 L10.00 9.00Z"
                    "M30.00 9.00 L30.00 4.00 L30.00 9.00Z\"") != std::string::npos);
  }

  TEST_CASE("eight series differ in colour and dashes; a colour of its own has no dashes") {
    Plot plot{"", {}, {}, std::vector<PlotSeries>(8)};
    std::set<std::string_view> colours;
    std::set<std::string_view> dashes;
    for (std::size_t i = 0; i < 8; ++i) {
      colours.insert(look_of(plot, i).colour);
      dashes.insert(look_of(plot, i).dashes);
    }
    CHECK(colours.size() == 8);
    CHECK(dashes.size() == 8);
    plot.series[5].colour = PlotColour::blue;
    CHECK(look_of(plot, 5).colour == look_of(plot, 0).colour);
    CHECK(look_of(plot, 5).dashes.empty());
    plot.series[5].mark = PlotMark::dotted;
    CHECK_FALSE(look_of(plot, 5).dashes.empty());
  }

  TEST_CASE("marks have samples of their own, from which a legend can be read") {
    std::set<std::string> samples;
    Plot plot{"", {}, {}, {{"", {}}}};
    for (const PlotMark mark :
         {PlotMark::line, PlotMark::dashed, PlotMark::dotted, PlotMark::dots, PlotMark::rings,
          PlotMark::points, PlotMark::area, PlotMark::reference}) {
      plot.series[0].mark = mark;
      samples.insert(svg_sample(look_of(plot, 0), 0, 0));
    }
    CHECK(samples.size() == 8);
  }
}
