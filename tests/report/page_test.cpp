// Covers: report/assets, report/hash_source
#include "report/page.h"

#include <doctest/doctest.h>

#include <fstream>
#include <limits>
#include <nlohmann/json.hpp>

#include "report/assets.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull;
using namespace lull::report;

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (auto at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

draw::Plot small_plot(const std::string& title) {
  return {title, {"x"}, {"y"}, {{"a", {{1, 0.5}, {2, std::numeric_limits<double>::quiet_NaN()}}}}};
}

}  // namespace

TEST_SUITE("report/page") {
  TEST_CASE("no text that comes from outside can become an element, an attribute or a script") {
    const std::string evil = "</script><script>x()</script>\" onload=\"y() <!-- &amp;";
    Contents contents;
    contents.title = contents.summary = contents.caution = contents.judged_from = evil;
    contents.command = evil;
    contents.figures = contents.chosen = contents.defaults = contents.inputs = contents.results =
        contents.versions = {{evil, evil, evil, evil, evil}};
    contents.notes = {evil};
    contents.findings = {{evil, evil, evil}};
    draw::Plot plot = small_plot(evil);
    plot.x.label = plot.series[0].name = evil;
    plot.y.label = evil;
    plot.vertical_lines = {{1, evil}};
    plot.series.push_back(plot.series[0]);
    contents.charts = {{"a", evil, evil, plot}};
    contents.drawings = {{evil, evil, evil, evil}};
    contents.tables = {{evil, evil, {evil, evil}, {{evil, evil}}}};
    Plane gray(8, 8);
    const auto picture_with = [&gray](const std::string& words) {
      PictureToShow shown{words, words, {}};
      shown.picture.channels.push_back(std::as_const(gray).view());
      return shown;
    };
    contents.pictures = {picture_with(evil)};
    contents.shared = SharedCopy{picture_with(evil), evil};
    const std::string text = page(contents);
    Contents harmless;
    harmless.charts = {{"a", "", "", small_plot("")}};
    harmless.pictures = {picture_with("")};
    harmless.shared = SharedCopy{picture_with(""), ""};
    const std::string plain = page(harmless);
    CHECK(count(text, "<script") == count(plain, "<script"));
    CHECK(count(text, "</script") == count(plain, "</script"));
    CHECK(count(text, "<!--") == count(plain, "<!--"));
    CHECK(count(text, "\" onload=\"") == 0);
  }

  TEST_CASE("a drawing is a picture of its own; a table has a name for each row") {
    Contents contents;
    contents.drawings = {{"The map", "Read it.", "Two panels", "<svg>x</svg>"}};
    contents.tables = {{"Panels", "One a row.", {"panel", "turn"}, {{"1", "180.0°"}}}};
    const std::string text = page(contents);
    // RFC 4648: "<svg>x</svg>".
    CHECK(count(text, "alt=\"Two panels\" src=\"data:image/svg+xml;base64,PHN2Zz54PC9zdmc+\"") ==
          1);
    CHECK(count(text, "<th scope=\"row\"><bdi>1</bdi></th><td><bdi>180.0°</bdi></td>") == 1);
    CHECK(count(text, "<h2>The map</h2>") == 1);
  }

  TEST_CASE("the scale is that of the pixels that are shown: a reduced picture has larger ones") {
    Contents contents;
    contents.arcsec_per_px = 0.25;
    Plane large(2400, 1800);
    std::uint32_t state = 1;
    for (int y = 0; y < large.height(); ++y) {
      for (int x = 0; x < large.width(); ++x) {
        state = 1664525U * state + 1013904223U;  // Numerical Recipes' generator: nothing compresses
        large.row(y)[x] = static_cast<float>(state >> 8U) / 16777216.0F;
      }
    }
    PictureToShow shown{"noise", "noise", {}};
    shown.picture.channels.push_back(std::as_const(large).view());
    contents.pictures = {shown};
    const std::string text = page(contents);
    const auto number = [&text](const std::string& name) {
      return std::stod(text.substr(text.find(name + "=\"") + name.size() + 2));
    };
    const double reduction = std::floor(2400 / number("data-width"));
    REQUIRE(reduction > 1);
    CHECK(number("data-scale") == doctest::Approx(0.25 * reduction));
  }

  TEST_CASE("no line ends within a date, an option or a number with its unit") {
    Contents contents;
    contents.summary = "Best 180 of 240 frames, 193 x 193 px; recorded 2023-11-14 22:13:20 UTC.";
    contents.figures = {{"Dispersion", "3 px", "corrected unless --dispersion off is given", {}}};
    const std::string text = page(contents);
    CHECK(count(text,
                "193\u00A0x\u00A0193\u00A0px; recorded <span class=\"whole\">2023-11-14</span> "
                "22:13:20\u00A0UTC.") == 1);
    CHECK(count(text, "unless <span class=\"whole\">--dispersion</span> off") == 1);
  }

  TEST_CASE("style and scripts are in the page as their files have them") {
    const std::string folder = LULL_TESTS "/../src/report/";
    const std::string text = page({});
    for (const auto& entry : {std::pair{"page/look.css", assets::kLookCss},
                              {"page/viewer.js", assets::kViewerJs},
                              {"page/charts.js", assets::kChartsJs},
                              {"vendor/uplot/uPlot.iife.min.js", assets::kUplotJs},
                              {"vendor/uplot/uPlot.min.css", assets::kUplotCss}}) {
      const std::string file = entry.first;
      const std::string asset(entry.second);
      CAPTURE(file);
      CHECK(test::text_of(folder + file) == asset);
      CHECK(count(text, asset) == 1);
    }
    CHECK(test::text_of(folder + "vendor/uplot/LICENSE") == assets::kUplotLicence);
    CHECK(count(text, "Copyright (c)") > 0);
  }

  TEST_CASE("the policy names the hash of each script and style, as Python computes it") {
    const test::TemporaryFolder folder;
    Contents contents;
    contents.charts = {{"a", "", "", small_plot("")}};
    std::ofstream(folder.file("page.html")) << page(contents);
    // Content Security Policy Level 3, section 2.3.1: base64 of SHA-256 over the element's text.
    const test::Run run = test::run_program(
        {"/usr/bin/python3", "-c",
         "import sys, re, hashlib, base64\n"
         "page = open(sys.argv[1], encoding='utf-8', newline='').read()\n"
         "policy = re.search('Content-Security-Policy\" content=\"([^\"]*)', page).group(1)\n"
         "parts = {p.split()[0]: p.split()[1:] for p in policy.split(';')}\n"
         "def hashes(element):\n"
         "    texts = re.findall(f'<{element}>(.*?)</{element}>', page, re.S)\n"
         "    return ['\\'sha256-' + "
         "base64.b64encode(hashlib.sha256(t.encode()).digest()).decode() "
         "+ '\\'' for t in texts]\n"
         "assert hashes('style') == parts['style-src'] and len(parts['style-src']) == 1\n"
         "assert hashes('script') == parts['script-src'] and len(parts['script-src']) == 4\n"
         "assert 'unsafe' not in policy and ' style=' not in page.split('<script')[0]\n",
         folder.file("page.html")});
    CAPTURE(run.errors);
    CHECK(run.status == 0);
  }

  TEST_CASE("bytes that are not UTF-8 do not stop the page") {
    Contents contents;
    contents.title = "caf\xe9.ser";
    draw::Plot plot = small_plot("t");
    plot.series[0].name = "\xff\xfe";
    contents.charts = {{"a", "r", "alt", plot}};
    const std::string text = page(contents);
    CHECK(text.find("caf?.ser") != std::string::npos);
    CHECK(text.find('\xff') == std::string::npos);
  }
}
