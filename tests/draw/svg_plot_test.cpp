#include "draw/svg_plot.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <cstdio>
#include <limits>
#include <nlohmann/json.hpp>
#include <string_view>

#include "draw/svg_marks.h"
#include "files/atomic_file.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::draw;

TEST_SUITE("draw/svg_plot") {
  namespace {

  constexpr double kNothing = std::numeric_limits<double>::quiet_NaN();

  Plot plain_plot(std::vector<PlotSeries> series) {
    return {"A title", axis_over("time, s", 0, 10), axis_over("speed, m/s", -3, 4),
            std::move(series)};
  }

  // What Python's XML parser and a ruler make of the plot.
  nlohmann::json read_off(const Plot& plot, const char* x_scale = "linear") {
    const test::TemporaryFolder folder;
    files::write_file(folder / "plot.svg", svg_plots(std::vector<Plot>{plot}));
    const test::Run ran =
        test::run_python("draw/svg_values.py", {(folder / "plot.svg").string(), x_scale, "linear"});
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    return nlohmann::json::parse(ran.output);
  }

  void check_values(const nlohmann::json& stroke, const std::vector<PlotPoint>& points) {
    REQUIRE(stroke.size() == points.size());
    for (std::size_t i = 0; i < points.size(); ++i) {
      CAPTURE(i);
      // Places have two decimals, and an axis is at least 320 px long: 10 units there are 0.0002
      // off. Logarithmic ones are as exact in relative terms.
      CHECK(std::abs(stroke[i][0].get<double>() - points[i].x) <
            0.001 * std::abs(points[i].x) + 3e-4);
      CHECK(std::abs(stroke[i][1].get<double>() - points[i].y) < 3e-4);
    }
  }

  }  // namespace

  TEST_CASE("values land where the labels of the axes say, lines and dots") {
    const std::vector<PlotPoint> line = {{0, -3}, {2.5, 1.25}, {10, 4}};
    const std::vector<PlotPoint> dots = {{1, 1}, {7.3, -2.2}};
    const auto read = read_off(plain_plot({{"run", line}, {"stop", dots, PlotMark::dots}}));
    CHECK(read.at("x") == nlohmann::json({0, 2, 4, 6, 8, 10}));
    CHECK(read.at("y") == nlohmann::json({-4, -2, 0, 2, 4}));
    REQUIRE(read.at("series").size() == 2);
    check_values(read.at("series")[0].at("strokes")[0], line);
    check_values(read.at("series")[1].at("strokes")[0], dots);
    CHECK(read.at("title") == nlohmann::json({"A title"}));
    CHECK(read.at("label-x") == nlohmann::json({"time, s"}));
    CHECK(read.at("label-y") == nlohmann::json({"speed, m/s"}));
    CHECK(read.at("legend") == nlohmann::json({"run", "stop"}));
  }

  TEST_CASE("higher values stand higher: of two ticks the larger has the smaller y") {
    const std::string svg = svg_plots(std::vector<Plot>{plain_plot({{"run", {{0, 0}, {1, 1}}}})});
    std::vector<double> heights;
    for (auto at = svg.find("class=\"tick-y\""); at != std::string::npos;
         at = svg.find("class=\"tick-y\"", at + 1)) {
      heights.push_back(std::stod(svg.substr(svg.find("y=\"", svg.find("x=\"", at) + 3) + 3)));
    }
    REQUIRE(heights.size() > 2);
    CHECK(heights.front() > heights.back());  // SVG counts y downwards
  }

  TEST_CASE("logarithmic axes") {
    const std::vector<PlotPoint> line = {{1, 0}, {3, 1}, {40, 2}, {100, 3}};
    Plot plot = plain_plot({{"run", line}});
    plot.x = axis_over("share", 1, 100, PlotScale::logarithmic);
    const auto read = read_off(plot, "log");
    CHECK(read.at("x") == nlohmann::json({1, 2, 5, 10, 20, 50, 100}));
    check_values(read.at("series")[0].at("strokes")[0], line);
    CHECK(read.at("legend").empty());
  }

  TEST_CASE("powers of ten of many digits are written as powers where an axis has little else") {
    Plot plot = plain_plot({{"run", {{0, 1e-5}, {1, 1e6}}}});
    plot.y = axis_over("pixels", 1e-5, 1e6, PlotScale::logarithmic);
    const std::string svg = svg_plots(std::vector<Plot>{plot});
    for (const char* text : {">10⁻⁵<", ">10⁻⁴<", ">0.001<", ">1<", ">1000<", ">10⁴<", ">10⁶<"}) {
      CAPTURE(text);
      CHECK(svg.find(text) != std::string::npos);
    }
    CHECK(svg.find("e+") == std::string::npos);
    plot.y = axis_over("pixels", 0, 50000);
    CHECK(svg_plots(std::vector<Plot>{plot}).find(">10000<") != std::string::npos);
  }

  TEST_CASE("a line breaks where there is no value, and values without a place are left out") {
    const auto read = read_off(plain_plot({{"run", {{0, 0}, {1, 1}, {2, kNothing}, {3, 1}, {4, 2}}},
                                           {"stop", {{kNothing, 1}, {5, 1}}, PlotMark::dots}}));
    const auto strokes = read.at("series")[0].at("strokes");
    REQUIRE(strokes.size() == 2);
    check_values(strokes[0], {{0, 0}, {1, 1}});
    check_values(strokes[1], {{3, 1}, {4, 2}});
    check_values(read.at("series")[1].at("strokes")[0], {{5, 1}});
  }

  TEST_CASE("a vertical line reaches from end to end, and is named like a series") {
    Plot plot = plain_plot({{"run", {{0, 0}, {1, 1}}}});
    plot.vertical_lines = {{7.5, "limit"}};
    const auto read = read_off(plot);
    REQUIRE(read.at("series").size() == 2);
    check_values(read.at("series")[1].at("strokes")[0], {{7.5, -4}, {7.5, 4}});
    CHECK(read.at("legend") == nlohmann::json({"run", "limit"}));
  }

  TEST_CASE("a label stands in the middle of its place, and is escaped") {
    Plot plot;
    plot.series = {{"one", {{0, 0}, {10, 10}}}};
    plot.x.range = plot.y.range = PlotRange{0, 10};
    plot.labels = {{{5, 5}, "7 < 8"}};
    // The plot is 400 x 320 px, 72 px from the left and 44 from the top.
    const std::string svg = svg_plots({&plot, 1});
    CHECK(svg.find("<text class=\"label\" x=\"272.00\" y=\"208.50\" text-anchor=\"middle\">7 "
                   "&lt; 8</text>") != std::string::npos);
    // Its rim has the colour of the ground, under the letters.
    CHECK(svg.find(".label{paint-order:stroke;stroke:#ffffff;") != std::string::npos);
    CHECK(svg.find(".label{stroke:#16181b}") != std::string::npos);
  }

  TEST_CASE("on a map a unit is as long across as up, and all that was asked for is shown") {
    Plot map;
    map.series = {{"one", {{0, 0}, {1, 1}}}};
    for (const double width : {1.0, 30.0, 1000.0}) {
      set_equal_scales(map, {5, -2}, width, 30);
      const auto [left, right] = *map.x.range;
      const auto [low, high] = *map.y.range;
      CHECK((right - left) / 400 == doctest::Approx((high - low) / 320));
      CHECK(0.5 * (left + right) == doctest::Approx(5));
      CHECK(0.5 * (low + high) == doctest::Approx(-2));
      CHECK(0.5 * (right - left) >= width * (1 - 1e-12));
      CHECK(0.5 * (high - low) >= 30 * (1 - 1e-12));
    }
  }

  TEST_CASE("an axis on the right has ticks of its own, and its series stand by them") {
    Plot plot =
        plain_plot({{"run", {{0, -4}, {10, 4}}},
                    {"turn", {{0, 0}, {5, 100}, {10, 50}}, PlotMark::line, {}, PlotSide::right}});
    plot.right = axis_over("angle, degrees", 0, 100);
    const auto read = read_off(plot);
    CHECK(read.at("label-right") == nlohmann::json({"angle, degrees"}));
    CHECK(read.at("tick-right") == nlohmann::json({"0", "20", "40", "60", "80", "100"}));
    // Read off by the left axis, from -4 to 4: 100 degrees are at its upper end, 50 in its middle.
    check_values(read.at("series")[1].at("strokes")[0], {{0, -4}, {5, 4}, {10, 0}});
  }

  TEST_CASE("four plots stand two by two, fewer side by side") {
    const Plot plot = plain_plot({{"run", {{0, 0}, {1, 1}}}});
    const auto size_of = [&](std::size_t count) {
      const std::string svg = svg_plots(std::vector<Plot>(count, plot));
      std::array<double, 2> size{};
      const auto at = svg.find("viewBox=\"0 0 ");
      REQUIRE(std::sscanf(svg.c_str() + at, "viewBox=\"0 0 %lf %lf", &size[0], &size[1]) == 2);
      return size;
    };
    const auto [width, height] = size_of(1);
    CHECK(size_of(3) == std::array{3 * width, height});
    CHECK(size_of(4) == std::array{2 * width, 2 * height});
    CHECK(size_of(5) == std::array{2 * width, 3 * height});
    CHECK(svg_plots({}).find("</svg>") != std::string::npos);
  }

  // WCAG 2.1, success criterion 1.4.11: 3:1 for graphics; relative luminance as defined there.
  TEST_CASE("on a dark screen every colour has a light one that stands out") {
    const auto luminance = [](std::string_view hex) {
      const auto part = [&](std::size_t from) {
        const double c = std::stoi(std::string(hex.substr(from, 2)), nullptr, 16) / 255.0;
        return c <= 0.03928 ? c / 12.92 : std::pow((c + 0.055) / 1.055, 2.4);
      };
      return 0.2126 * part(1) + 0.7152 * part(3) + 0.0722 * part(5);
    };
    std::vector<PlotSeries> series(8, PlotSeries{"s", {{0, 0}, {1, 1}}});
    for (const PlotColour colour :
         {PlotColour::blue, PlotColour::orange, PlotColour::green, PlotColour::gray})
      series.push_back({"c", {{0, 0}}, PlotMark::line, colour});
    series.push_back({"r", {{0, 0}}, PlotMark::reference});
    const Plot plot = plain_plot(series);
    const std::string svg = svg_plots(std::vector<Plot>{plot});
    for (std::size_t i = 0; i < plot.series.size(); ++i) {
      const std::string light(look_of(plot, i).colour);
      CAPTURE(light);
      const std::string rule = "[stroke=\"" + light + "\"]{stroke:";
      const auto at = svg.find(rule, svg.find("prefers-color-scheme:dark"));
      REQUIRE(at != std::string::npos);
      const std::string dark = svg.substr(at + rule.size(), 7);
      CHECK((luminance(dark) + 0.05) / (luminance("#16181b") + 0.05) >= 3);
    }
  }

  TEST_CASE("xmllint takes it, whatever the names hold; nothing comes from elsewhere") {
    std::string bytes;
    for (int c = 1; c < 256; ++c) bytes += static_cast<char>(c);
    Plot plot = plain_plot({{"<a href=\"x\">&amp;</a>", {{1, 1}}}, {bytes, {{2, 2}}}});
    for (const PlotMark mark : {PlotMark::rings, PlotMark::points, PlotMark::area})
      plot.series.push_back({bytes, {{3, 3}}, mark});
    plot.vertical_lines = {{5, bytes}};
    plot.right = {bytes};
    const std::string svg = svg_plots(std::vector<Plot>{plot, plot});
    const test::TemporaryFolder folder;
    files::write_file(folder / "plot.svg", svg);
    const test::Run ran = test::run_program({"xmllint", "--noout", (folder / "plot.svg").string()});
    CAPTURE(ran.errors);
    CHECK(ran.status == 0);
    CHECK(ran.text().empty());
    CHECK(
        read_off(plain_plot({{"<a href=\"x\">&amp;</a>", {{1, 1}}}})).at("series")[0].at("name") ==
        "<a href=\"x\">&amp;</a>");
    for (const char* outside : {"href=\"", "url(http", "@import", "<script", "<image"}) {
      CAPTURE(outside);
      CHECK(svg.find(outside) == std::string::npos);
    }
  }
}
