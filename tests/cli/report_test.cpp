// Covers: run/stack_cards, run/stack_header
// Covers: run/stack_report, run/report_charts, run/stack_figures, run/resolution
// Covers: run/share_notes, run/finish_report, run/report_choice, run/report_parts
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "files/fits_cards.h"
#include "files/fits_parts.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"

namespace {

using namespace lull::test;

// What the page's scripts read.
nlohmann::json charts_of(const std::string& page) {
  const std::string begin = "<script type=\"application/json\" id=\"data\">";
  const auto from = page.find(begin) + begin.size();
  return nlohmann::json::parse(page.substr(from, page.find("</script>", from) - from));
}

// A quick run on a small capture; the report is a.html of the folder.
Run stacked(const TemporaryFolder& folder, const std::vector<std::string>& more) {
  std::vector<std::string> words = {"stack",   sample("granules.mkv"), "-o", "a.fits",
                                    "--quiet", "--overwrite"};
  words.insert(words.end(), more.begin(), more.end());
  RunOptions options;
  options.folder = folder.path();
  return run_lull(words, options);
}

// The command that the page prints, as a browser shows it.
std::string command_on(const std::string& page) {
  const std::string begin = "<code><bdi>";
  const auto from = page.find(begin) + begin.size();
  std::string text = page.substr(from, page.find("</bdi></code>", from) - from);
  using Pair = std::pair<const char*, const char*>;
  // The ampersand last, so that what it makes is not read once more.
  for (const auto& [entity, sign] :
       {Pair{"&lt;", "<"}, {"&gt;", ">"}, {"&quot;", "\""}, {"&#39;", "'"}, {"&amp;", "&"}}) {
    for (auto at = text.find(entity); at != std::string::npos; at = text.find(entity, at + 1))
      text.replace(at, std::string(entity).size(), sign);
  }
  return text;
}

// Runs the command of one page in another folder, where `lull` is the program.
Run repeated(const std::string& page, const TemporaryFolder& folder) {
  RunOptions options;
  options.folder = folder.path();
  return run_program({"sh", "-c", "PATH=" LULL_PROGRAMS ":$PATH; " + command_on(page)}, options);
}

// The value and the note of a figure on the page.
struct Figure {
  std::string value;
  std::string note;
};

Figure figure_on(const std::string& page, const std::string& name) {
  CAPTURE(name);
  const std::string begin = "<dt>" + name + "</dt><dd>";
  const auto from = page.find(begin);
  REQUIRE(from != std::string::npos);
  const std::string text =
      page.substr(from + begin.size(), page.find("</dd>", from) - from - begin.size());
  const auto note = text.find("<small>");
  if (note == std::string::npos) return {text, {}};
  return {text.substr(0, note), text.substr(note + 7, text.find("</small>", note) - note - 7)};
}

std::string with_decimals(double value, int decimals, const std::string& unit) {
  char text[64];
  std::snprintf(text, sizeof text, "%.*f%s", decimals, value, unit.c_str());
  return text;
}

nlohmann::json json_of(std::vector<std::string> words) {
  words.insert(words.end(), {"--json", "--quiet"});
  const Run run = run_lull(words);
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
  return nlohmann::json::parse(run.output);
}

}  // namespace

TEST_SUITE("cli/report") {
  TEST_CASE("the command on the page repeats the run: picture, shared copy, page, all bytes") {
    const TemporaryFolder first;
    const TemporaryFolder second;
    const Run run =
        stacked(first, {"--share", "it's shared.png", "--caption", "Sun & 5\" <disc>, best",
                        "--scale-bar", "--object", "sun", "--keep", "30%", "--tone", "asinh",
                        "--restraint", "0.5", "--report", "a.html", "--frames", "2-30"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    const std::string page = text_of(first.file("a.html"));
    // The copy is shown, and linked.
    CHECK(page.find("<h2>The copy to share</h2>") != std::string::npos);
    CHECK(page.find("href=\"it%27s%20shared.png\"") != std::string::npos);
    const Run again = repeated(page, second);
    CAPTURE(command_on(page));
    CAPTURE(again.errors);
    REQUIRE(again.status == 0);
    for (const char* name :
         {"a.fits", "a.linear.fits", "a.recipe.json", "it's shared.png", "a.html"}) {
      CAPTURE(name);
      CHECK(read_file(second.file(name)) == read_file(first.file(name)));
    }
    // The same of a finish, whose page shows the picture before and after.
    RunOptions options;
    options.folder = first.path();
    const Run finish =
        run_lull({"finish", "a.linear.fits", "-o", "f.tif", "--share", "f.jpg", "--caption", "-1 C",
                  "--detail", "2:1.5,6:1.2", "--black", "-0.01", "--quiet"},
                 options);
    CAPTURE(finish.errors);
    REQUIRE(finish.status == 0);
    const std::string finished = text_of(first.file("f.finish.html"));
    for (const char* part :
         {"data-name=\"As it was\"", "data-name=\"Finished\"", "data-chart=\"levels\"",
          "data-chart=\"gain\"", "<bdi>--detail</bdi>", "<dt>Resolution</dt>"})
      CHECK(finished.find(part) != std::string::npos);
    CHECK(finished.find("Next time") == std::string::npos);
    const Run finish_again = repeated(finished, second);
    CAPTURE(command_on(finished));
    CAPTURE(finish_again.errors);
    REQUIRE(finish_again.status == 0);
    for (const char* name : {"f.tif", "f.jpg", "f.finish.json", "f.finish.html"}) {
      CAPTURE(name);
      CHECK(read_file(second.file(name)) == read_file(first.file(name)));
    }
  }

  TEST_CASE("same bytes on any number of threads") {
    const TemporaryFolder first;
    const TemporaryFolder second;
    REQUIRE(stacked(first, {"--threads", "1"}).status == 0);
    REQUIRE(stacked(second, {"--threads", "5"}).status == 0);
    CHECK(read_file(first.file("a.html")) == read_file(second.file("a.html")));
  }

  TEST_CASE("--report names it, or leaves it out without a change to the picture") {
    const TemporaryFolder folder;
    REQUIRE(stacked(folder, {"--report", "named.htm"}).status == 0);
    CHECK(std::filesystem::exists(folder.file("named.htm")));
    CHECK_FALSE(std::filesystem::exists(folder.file("a.html")));
    const Bytes picture = read_file(folder.file("a.fits"));
    const TemporaryFolder other;
    REQUIRE(stacked(other, {"--report", "none"}).status == 0);
    CHECK_FALSE(std::filesystem::exists(other.file("a.html")));
    CHECK(read_file(other.file("a.fits")) == picture);
  }

  TEST_CASE("names and objects that make no sense are refused before any work") {
    const TemporaryFolder folder;
    for (const std::vector<std::string>& wrong : {std::vector<std::string>{"--report", "page.txt"},
                                                  {"--object", "comet"},
                                                  {"--aperture", "200"}}) {
      const Run run = stacked(folder, wrong);
      CAPTURE(wrong[1]);
      CHECK(run.status == 2);
      CHECK(run.errors.find(wrong[0]) != std::string::npos);
    }
    const Run run = stacked(folder, {"--report", "nowhere/page.html"});
    CHECK(run.status == 5);
    CHECK(run.errors.find("nowhere/page.html") != std::string::npos);
    CHECK(std::filesystem::is_empty(folder.path()));
  }

  TEST_CASE("its charts hold the figures of the run, its table the checksum of sha256sum") {
    const TemporaryFolder folder;
    const Run run = stacked(folder, {"--json", "--keep", "auto"});
    REQUIRE(run.status == 0);
    const auto figures = nlohmann::json::parse(run.output);
    const std::string page = text_of(folder.file("a.html"));
    const auto charts = charts_of(page);
    const auto& correlation = charts.at("frc").at("series")[0].at("ys");
    REQUIRE(correlation.size() == figures.at("frc").size());
    for (std::size_t i = 0; i < correlation.size(); ++i) {
      CHECK(std::abs(correlation[i].get<double>() -
                     figures.at("frc")[i].at("correlation").get<double>()) < 1e-4);
    }
    CHECK(charts.at("keep").at("xs").size() == figures.at("keep_steps").size());
    const auto& kept = charts.at("sharpness").at("series")[0].at("ys");
    CHECK(std::count_if(kept.begin(), kept.end(), [](const auto& y) { return y.is_number(); }) ==
          figures.at("kept").get<int>());
    for (const char* chart : {"distribution", "track", "arrows", "map", "levels", "gain"})
      CHECK(charts.contains(chart));
    // samples/SHA256SUMS, made by sha256sum.
    const std::string sums = text_of(sample("SHA256SUMS"));
    const auto line = sums.find("granules.mkv");
    const auto start = sums.rfind('\n', line) + 1;
    CHECK(page.find(sums.substr(start, 64)) != std::string::npos);
  }

  TEST_CASE("how many frames count at each place: figures, linear stack and map say the same") {
    const TemporaryFolder folder;
    const Run run = stacked(folder, {"--json"});
    REQUIRE(run.status == 0);
    const auto run_figures = nlohmann::json::parse(run.output);
    const auto& figures = run_figures.at("effective_frames");
    const auto image = lull::files::read_fits_image(folder.file("a.linear.fits"), "NEFF");
    REQUIRE(image);
    REQUIRE(image->channels.size() == 1);
    std::vector<double> values;
    const lull::Plane& plane = image->channels[0];
    for (int y = 0; y < plane.height(); ++y)
      values.insert(values.end(), plane.row(y), plane.row(y) + plane.width());
    const auto [least, most] = std::minmax_element(values.begin(), values.end());
    CHECK(figures.at("min").get<double>() == *least);
    CHECK(figures.at("max").get<double>() == *most);
    CHECK(*least >= 1);
    CHECK(*most <= run_figures.at("kept").get<double>() * (1 + 1e-6));
    CHECK(figures.at("median").get<double>() > *least);
    CHECK(figures.at("median").get<double>() < *most);
    const auto charts = charts_of(text_of(folder.file("a.html")));
    CHECK(charts.at("map").at("high").get<double>() == doctest::Approx(*most).epsilon(1e-3));
    // Without a report it is collected all the same, and the picture beside it does not change.
    const TemporaryFolder without;
    REQUIRE(stacked(without, {"--report", "none"}).status == 0);
    CHECK(read_file(without.file("a.linear.fits")) == read_file(folder.file("a.linear.fits")));
  }

  TEST_CASE("without the optics: pixels alone, and one hint on which options add more") {
    const TemporaryFolder folder;
    const Run plain = stacked(folder, {});
    REQUIRE(plain.status == 0);
    const auto hint = plain.output.find("hint: --aperture, --focal-length, --pixel");
    CHECK(hint != std::string::npos);
    CHECK(plain.output.find("hint:", hint + 1) == std::string::npos);
    CHECK(plain.output.find("cutoff D/lambda (") == std::string::npos);
    const auto figures = nlohmann::json::parse(stacked(folder, {"--json"}).output);
    for (const char* name : {"resolution_arcsec", "resolution_cutoff_share"})
      CHECK(figures.at(name).is_null());
    const Run with_optics =
        stacked(folder, {"--aperture", "150", "--focal-length", "1500", "--pixel", "2.4"});
    REQUIRE(with_optics.status == 0);
    CHECK(with_optics.output.find("hint:") == std::string::npos);
    CHECK(with_optics.output.find("cutoff D/lambda (finest") != std::string::npos);
    CHECK(with_optics.output.find("by half a bit: ") != std::string::npos);
  }

  TEST_CASE("arcseconds by 206265 pixel / focal length, once the optics are given") {
    const TemporaryFolder folder;
    const Run run = stacked(folder, {"--json", "--aperture", "150", "--focal-length", "1500",
                                     "--pixel", "2.4", "--object", "sun"});
    REQUIRE(run.status == 0);
    const auto figures = nlohmann::json::parse(run.output);
    const std::string page = text_of(folder.file("a.html"));
    // 0.330 arcsec a pixel: 206265 x 2.4 um / 1500 mm, common knowledge of optics.
    CHECK(page.find("0.330″ a pixel") != std::string::npos);
    const double resolution = figures.at("resolution_px").get<double>() * 0.330024;
    char expected[32];
    std::snprintf(expected, sizeof expected, "<dd>%.2f″", resolution);
    CHECK(page.find(expected) != std::string::npos);
    // The cutoff D / lambda in cycles a pixel (Goodman, Introduction to Fourier Optics).
    const double cutoff = 150 * 2.4e-3 / (550e-6 * 1500);
    const auto cards = lull::files::read_fits_cards(
        folder.file("a.fits"), {"RESOL", "RESOLAS", "RESOLCUT", "HALFB", "HALFBAS", "HALFBCUT"});
    using Names = std::pair<std::string, std::string>;
    for (const Names& names : {Names{"resolution", "RESOL"}, {"half_bit_resolution", "HALFB"}}) {
      const std::string& name = names.first;
      const std::string& key = names.second;
      CAPTURE(name);
      const double period_px = figures.at(name + "_px").get<double>();
      const double period_arcsec = figures.at(name + "_arcsec").get<double>();
      const double share = figures.at(name + "_cutoff_share").get<double>();
      CHECK(std::abs(period_arcsec - 0.330024 * period_px) < 1e-5 * period_px);
      CHECK(std::abs(share * cutoff * period_px - 1) < 1e-9);
      CHECK(std::abs(std::stod(cards.at(key)) - period_px) < 1e-9);
      CHECK(std::abs(std::stod(cards.at(key + "AS")) - period_arcsec) < 1e-9);
      CHECK(std::abs(std::stod(cards.at(key + "CUT")) - share) < 1e-9);
    }
    CHECK(page.find("The Sun: record it only with a certified full-aperture filter") !=
          std::string::npos);
    // The command repeats the given options.
    CHECK(page.find("--aperture 150 --focal-length 1500 --object sun --pixel 2.4") !=
          std::string::npos);
    const TemporaryFolder again;
    RunOptions options;
    options.folder = again.path();
    REQUIRE(run_lull({"stack", "-o", "b.fits", "--recipe", folder.file("a.recipe.json"), "--quiet"},
                     options)
                .status == 0);
    CHECK(text_of(again.file("b.html")).find("0.330″ a pixel") != std::string::npos);
  }

  // The text is made anew here from the JSON of stack, of rank and of inspect, and from the files.
  TEST_CASE("every figure of the page is that of the JSON") {
    const TemporaryFolder folder;
    const std::string capture = sample("ringed_faint.ser");
    RunOptions options;
    options.folder = folder.path();
    const Run run = run_lull({"stack", capture, "-o", "a.fits", "--keep", "auto", "--fusion",
                              "selection", "--aperture", "200", "--focal-length", "4200", "--pixel",
                              "2.9", "--wavelength", "600", "--json", "--quiet"},
                             options);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    const auto figures = nlohmann::json::parse(run.output);
    const std::string page = text_of(folder.file("a.html"));
    const auto whole = [&figures](const char* name) { return figures.at(name).get<int>(); };
    REQUIRE(whole("usable") < whole("frames"));
    const Figure kept = figure_on(page, "Frames kept");
    CHECK(kept.value == std::to_string(whole("kept")));
    CHECK(kept.note == with_decimals(100.0 * whole("kept") / whole("usable"), 0, "% of ") +
                           std::to_string(whole("usable")) + " usable, " +
                           std::to_string(whole("frames")) + " in the capture");
    char noise[32];
    std::snprintf(noise, sizeof noise, "%.2g%%", 100 * figures.at("noise").get<double>());
    CHECK(figure_on(page, "Noise").value == noise);
    CHECK(figure_on(page, "Movement of regions").value ==
          with_decimals(figures.at("local_shift_rms_px").get<double>(), 2, " px"));
    CHECK(figure_on(page, "Resolution").value ==
          with_decimals(figures.at("resolution_arcsec").get<double>(), 2, "″"));
    CHECK(figure_on(page, "Resolution, strict").value ==
          with_decimals(figures.at("half_bit_resolution_arcsec").get<double>(), 2, "″"));
    // lambda / D in focus over the pixel: 600 nm x 4200 mm / 200 mm = 12.6 um, over 2.9 um.
    CHECK(figure_on(page, "Sampling").value == "4.34 px");
    CHECK(figure_on(page, "Sampling").note == "in lambda/D; 0.142″ a pixel");

    std::vector<double> sharpness;
    const auto ranked = json_of({"rank", capture});
    for (const auto& frame : ranked.at("frames"))
      if (!frame.contains("flags")) sharpness.push_back(frame.at("sharpness").get<double>());
    REQUIRE(sharpness.size() == figures.at("usable").get<std::size_t>());
    std::sort(sharpness.begin(), sharpness.end());
    const double median = sharpness[sharpness.size() / 2];  // their number is odd
    REQUIRE(sharpness.size() % 2 == 1);
    CHECK(figure_on(page, "Best frame").value == with_decimals(sharpness.back() / median, 2, " ×"));

    // Words beside the charts.
    CHECK(contains(page, with_decimals(100.0 * whole("kept") / whole("usable"), 0,
                                       "% of the usable frames were kept: of ")));
    const auto motion = json_of({"inspect", capture}).at("motion");
    const auto signed_slope = [&motion](const char* axis) {
      char text[32];
      std::snprintf(text, sizeof text, "%+.2f", motion.at(axis).at("slope").get<double>());
      return std::string(text);
    };
    const std::string unit = motion.at("unit") == "px/s" ? " px/s" : " px/frame";
    CHECK(contains(page, "steady drift " + signed_slope("drift_x") + unit +
                             " across (+ is right), " + signed_slope("drift_y") + unit + " down."));
    const auto neff = lull::files::read_fits_image(folder.file("a.linear.fits"), "NEFF");
    REQUIRE(neff);
    std::vector<float> counts;
    for (int y = 0; y < neff->size().height_px; ++y) {
      const float* row = neff->channels[0].row(y);
      counts.insert(counts.end(), row, row + neff->size().width_px);
    }
    std::sort(counts.begin(), counts.end());
    const auto& effective = figures.at("effective_frames");
    CHECK(effective.at("median").get<double>() == static_cast<double>(counts[counts.size() / 2]));
    CHECK(contains(page, with_decimals(effective.at("median").get<double>(), 0, " in the median")));
  }

  TEST_CASE("what stack and inspect print are the figures of the JSON") {
    const TemporaryFolder folder;
    const std::vector<std::string> words = {"stack",      sample("granules.mkv"),
                                            "-o",         folder.file("a.fits"),
                                            "--keep",     "40%",
                                            "--fusion",   "selection",
                                            "--finish",   "none",
                                            "--report",   "none",
                                            "--overwrite"};
    const Run printed = run_lull(words);
    REQUIRE(printed.status == 0);
    const auto figures = json_of(words);
    char noise[64];
    std::snprintf(noise, sizeof noise, "noise: %.2g%% of full scale",
                  100 * figures.at("noise").get<double>());
    CHECK(contains(printed.output, noise));
    CHECK(contains(printed.output, with_decimals(figures.at("local_shift_rms_px").get<double>(), 2,
                                                 " px rms independently")));
    const auto detail = json_of({"inspect", sample("highland.mkv")}).at("detail");
    const double limit = detail.at("limit_cycles_per_px").get<double>();
    CHECK(contains(run_lull({"inspect", sample("highland.mkv")}).output,
                   "down to " + with_decimals(1 / limit, 1, " px (") +
                       with_decimals(limit, 2, " cycles/px)")));
  }

  TEST_CASE("the dispersion on the page is the distance of blue from red") {
    const TemporaryFolder folder;
    RunOptions options;
    options.folder = folder.path();
    const Run run = run_lull({"stack", sample("belts_mosaic.nut"), "-o", "a.fits", "--fusion",
                              "selection", "--finish", "none", "--json", "--quiet"},
                             options);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    const auto figures = nlohmann::json::parse(run.output);
    const auto& apart = figures.at("dispersion_px");
    const auto distance = [&apart](std::size_t axis) {
      return apart[2][axis].get<double>() - apart[0][axis].get<double>();
    };
    CHECK(std::hypot(distance(0), distance(1)) > 0.1);
    CHECK(figure_on(text_of(folder.file("a.html")), "Dispersion").value ==
          with_decimals(std::hypot(distance(0), distance(1)), 2, " px"));
  }
}
