// Covers: run/run_inspect, run/inspect_outcome, run/inspect_json, run/inspect_plot
// Covers: cli/inspect_text
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <sstream>

#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"
#include "support/video_writer.h"

namespace {

using namespace lull::test;
using nlohmann::json;

json inspected(std::vector<std::string> words) {
  words.insert(words.begin(), "inspect");
  words.insert(words.end(), {"--json", "--quiet"});
  const Run run = run_lull(words);
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
  return json::parse(run.output);
}

}  // namespace

TEST_SUITE("cli/inspect") {
  TEST_CASE("the text fits on a screen, and each finding has advice for next time") {
    // 80 columns, 30 lines; the sample with every fault there is may take 40.
    for (const auto& shown : {std::pair{"highland.mkv", 30}, {"ringed_faint.ser", 40}}) {
      const char* name = shown.first;
      const int most = shown.second;
      CAPTURE(name);
      const Run run = run_lull({"inspect", sample(name), "--quiet"});
      REQUIRE(run.status == 0);
      std::stringstream stream(run.output);
      int lines = 0;
      int findings = 0;
      for (std::string line; std::getline(stream, line);) {
        ++lines;
        if (lines > 1) CHECK(line.size() <= 80);  // the first is the capture's name
        findings += line.starts_with("- ") ? 1 : 0;
      }
      CHECK(lines <= most);
      CHECK(findings == static_cast<int>(inspected({sample(name)}).at("findings").size()));
      CHECK(run.output.find("certified full-aperture filter") != std::string::npos);
    }
  }

  TEST_CASE("headroom is told as how much longer to expose") {
    // A pattern that moves, its brightest at `level` of 255; 90% of these are the aim.
    const auto exposure_line = [](int level) {
      const TemporaryFolder folder;
      std::vector<std::vector<std::byte>> pictures;
      for (int n = 0; n < 20; ++n) {
        std::vector<std::byte> picture;
        for (int y = 0; y < 96; ++y) {
          for (int x = 0; x < 128; ++x) {
            const double wave = std::sin((x + n % 4) / 5.0) * std::cos((y + n % 3) / 4.0);
            picture.push_back(static_cast<std::byte>(std::lround(level * (0.6 + 0.4 * wave))));
          }
        }
        pictures.push_back(std::move(picture));
      }
      write_video(folder.file("a.avi"), {.width_px = 128, .height_px = 96}, pictures);
      const Run run = run_lull({"inspect", folder.file("a.avi"), "--quiet"});
      REQUIRE(run.status == 0);
      const auto at = run.output.find("exposure");
      return on_one_line(run.output.substr(at, run.output.find("\nnoise", at) - at));
    };
    CHECK(contains(exposure_line(115), "headroom 50% below 90%: expose twice as long"));
    CHECK(contains(exposure_line(77), "headroom 66% below 90%: expose 3 times as long"));
    CHECK(contains(exposure_line(210), "below 90%; none at full scale"));
    CHECK(contains(exposure_line(240), "no headroom"));
  }

  TEST_CASE("the figures of the samples are those of their makers") {
    // samples/ MANIFEST.md: 8 bit, 27.89 and 0.607 electrons a level, cutoff at 0.345 and 0.333
    // cycles/px; the ringed one's last frame is truncated, and it drifts to the frame's edge.
    const json highland = inspected({sample("highland.mkv")});
    CHECK(highland.at("frames") == 200);
    CHECK(highland.at("true_bits") == 8);
    CHECK(highland.at("target").at("kind") == "field");
    CHECK(std::abs(highland.at("noise").at("gain_e_per_adu").get<double>() / 27.89 - 1) < 0.03);
    CHECK(highland.at("detail").at("limit_cycles_per_px").get<double>() > 0.75 * 0.345);
    CHECK(highland.at("detail").at("limit_cycles_per_px").get<double>() < 0.345 + 0.02);
    const json ringed = inspected({sample("ringed_faint.ser")});
    CHECK(ringed.at("header_frames") == 304);
    CHECK(ringed.at("frames") == 303);
    CHECK(ringed.at("target").at("kind") == "disc");
    CHECK(std::abs(ringed.at("noise").at("gain_e_per_adu").get<double>() / 0.607 - 1) < 0.03);
    CHECK(ringed.at("left_out").at("doubled") == 7);
    CHECK(ringed.at("left_out").at("black") == 1);
  }

  TEST_CASE("with the optics, sampling is reported in pixels per lambda / D") {
    // lambda F / (D p) = 0.00061 mm * 2900 mm / (203 mm * 0.003 mm) = 2.9048.
    const json report = inspected({sample("highland.mkv"), "--aperture", "203", "--focal-length",
                                   "2900", "--pixel", "3", "--wavelength", "610"});
    CHECK(report.at("detail").at("px_per_lambda_over_d").get<double>() == doctest::Approx(2.9048));
    CHECK(report.at("detail").at("limit_over_cutoff").get<double>() > 0.75);
    CHECK(report.at("detail").at("limit_over_cutoff").get<double>() < 1.06);
  }

  TEST_CASE("the plot is written whole, and threads do not change a figure") {
    const TemporaryFolder folder;
    const json one = inspected(
        {sample("ringed_faint.ser"), "--threads", "1", "--plot", folder.file("health.svg")});
    CHECK(one == inspected({sample("ringed_faint.ser"), "--threads", "3"}));
    std::ifstream file(folder.file("health.svg"));
    const std::string svg{std::istreambuf_iterator<char>(file), {}};
    CHECK(svg.find("</svg>") != std::string::npos);
    for (const char* title : {"Levels of the samples", "Sharpness over time", "Path of the object",
                              "Power of detail over noise"})
      CHECK(svg.find(title) != std::string::npos);
    CHECK(svg.find("nan") == std::string::npos);
    CHECK(svg.find("inf") == std::string::npos);
  }

  TEST_CASE(
      "levels of red, green and blue are drawn in colours in which that channel is strongest") {
    const TemporaryFolder folder;
    static_cast<void>(inspected({sample("belts_mosaic.nut"), "--plot", folder.file("health.svg")}));
    std::ifstream file(folder.file("health.svg"));
    const std::string svg{std::istreambuf_iterator<char>(file), {}};
    const auto after = [&svg](const std::string& mark, std::size_t from) {
      const std::size_t at = svg.find(mark, from);
      REQUIRE(at != std::string::npos);
      return at + mark.size();
    };
    const std::array names = {"red", "green", "blue"};
    for (std::size_t channel = 0; channel < names.size(); ++channel) {
      const std::size_t series = after(fmt::format("<title>{}</title>", names[channel]), 0);
      const std::string light = svg.substr(after("stroke=\"#", series), 6);
      const std::string rule = fmt::format("[stroke=\"#{}\"]{{stroke:#", light);
      const std::string dark = svg.substr(after(rule, 0), 6);
      for (const std::string& colour : {light, dark}) {
        CAPTURE(names[channel]);
        CAPTURE(colour);
        std::array<int, 3> parts{};
        for (std::size_t c = 0; c < 3; ++c)
          parts[c] = std::stoi(colour.substr(2 * c, 2), nullptr, 16);
        CHECK(std::max_element(parts.begin(), parts.end()) - parts.begin() ==
              static_cast<std::ptrdiff_t>(channel));
      }
    }
  }

  TEST_CASE("optics that are incomplete or implausible are refused, and so are bad outputs") {
    const std::string capture = sample("highland.mkv");
    check_refused({"inspect", capture, "--aperture", "200"}, 2, "--focal-length");
    check_refused({"inspect", capture, "--pixel", "3"}, 2, "--aperture");
    check_refused(
        {"inspect", capture, "--aperture", "-200", "--focal-length", "2000", "--pixel", "3"}, 2,
        "invalid value '-200'; valid: a number from 10 to 20000 mm");
    check_refused(
        {"inspect", capture, "--aperture", "200", "--focal-length", "2 m", "--pixel", "3"}, 2,
        "invalid value '2 m'");
    check_refused({"inspect", capture, "--plot", capture}, 2, "would be overwritten");
    check_refused({"inspect", capture, "--plot", "/nowhere/at/all.svg"}, 5, "/nowhere/at/all.svg");
  }
}
