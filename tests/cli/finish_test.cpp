// Covers: run/run_finish, run/finish_outcome, run/finish_picture, run/finish_input
// Covers: run/linear_file, cli/finish_text
#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>

#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"

namespace {

using namespace lull::test;

// Some write under one name again and again.
Run must(std::vector<std::string> arguments, const RunOptions& options = {}) {
  arguments.emplace_back("--overwrite");
  Run run = run_lull(arguments, options);
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
  return run;
}

nlohmann::json recipe(const std::string& path) {
  std::ifstream file(path);
  return nlohmann::json::parse(file);
}

void make_files(const TemporaryFolder& folder) {
  const auto ran = run_python("cli/finish_files.py", {folder.path()});
  CAPTURE(ran.text());
  REQUIRE(ran.status == 0);
}

}  // namespace

TEST_SUITE("cli/finish") {
  TEST_CASE("from the linear stack it makes the bytes that stack made, in every way") {
    struct Case {
      const char* capture;
      const char* ending;
      std::vector<std::string> options;
    };

    const std::vector<Case> cases = {
        {"highland.mkv", ".tif", {}},
        {"highland.mkv", ".fits", {"--detail", "1.5:2.0,3:1.6,8:0.9", "--restraint", "0.4"}},
        {"belts_mosaic.nut",
         ".png",
         {"--white-balance", "grey", "--blur", "3.5", "--channel-offsets", "0.5,0,0,-0.25",
          "--flip", "top-bottom", "--rotate", "20"}},
        {"globe_cube.fits", ".tif", {"--detail", "none"}}};
    for (const Case& one : cases) {
      CAPTURE(one.capture);
      const TemporaryFolder folder;
      const std::string made = folder.file(std::string("a") + one.ending);
      const std::string again = folder.file(std::string("b") + one.ending);
      std::vector<std::string> stack = {
          "stack", sample(one.capture), "-o", made, "--quiet", "--keep", "20%"};
      const bool has_linear = one.options != std::vector<std::string>{"--detail", "none"};
      stack.insert(stack.end(), one.options.begin(), one.options.end());
      must(stack);
      CHECK(std::filesystem::exists(folder.file("a.linear.fits")) == has_linear);
      if (!has_linear) continue;
      std::vector<std::string> finish = {
          "finish", folder.file("a.linear.fits"), "-o", again, "--quiet", "--threads", "1"};
      finish.insert(finish.end(), one.options.begin(), one.options.end());
      must(finish);
      CHECK(read_file(made) == read_file(again));
      // The recipes of either repeat it.
      for (const char* from : {"a.recipe.json", "b.finish.json"}) {
        must({"finish", folder.file("a.linear.fits"), "-o",
              folder.file(std::string("c") + one.ending), "--recipe", folder.file(from),
              "--quiet"});
        CHECK(read_file(made) == read_file(folder.file(std::string("c") + one.ending)));
      }
      CHECK(recipe(folder.file("a.recipe.json")).at("options").at("restraint") ==
            recipe(folder.file("b.finish.json")).at("options").at("restraint"));
    }
  }

  TEST_CASE(
      "a stack made with --finish none can be finished, with a note that the blur is a typical "
      "one") {
    const TemporaryFolder folder;
    must({"stack", sample("highland.mkv"), "-o", folder.file("a.fits"), "--finish", "none",
          "--keep", "10%", "--quiet"});
    const auto verified = lull::test::run_program({"fitsverify", "-q", folder.file("a.fits")});
    CAPTURE(verified.text());
    CHECK(verified.status == 0);
    const Run run = must({"finish", folder.file("a.fits"), "-o", folder.file("b.tif"), "--json"});
    const auto json = nlohmann::json::parse(run.output);
    CHECK(json.at("half_stacks") == true);
    CHECK(json.at("notes").dump().find("typical blur") != std::string::npos);
  }

  TEST_CASE("pictures from elsewhere: detail by hand, and warnings that say what harms it") {
    const TemporaryFolder folder;
    make_files(folder);

    struct Case {
      const char* file;
      const char* warning;
    };

    for (const Case& one : {Case{"linear.tif", ""}, Case{"linear.fits", ""},
                            Case{"eight.png", "8 bits"}, Case{"tagged.png", "stretched"},
                            Case{"tagged.tif", "stretched"}, Case{"clipped.tif", "clipped"}}) {
      CAPTURE(one.file);
      for (const std::vector<std::string>& how :
           {std::vector<std::string>{"--blur", "3"}, {"--detail", "2:2,6:1.2"}}) {
        std::vector<std::string> words = {"finish", folder.file(one.file), "-o",
                                          folder.file("out.tif"), "--json"};
        words.insert(words.end(), how.begin(), how.end());
        const auto json = nlohmann::json::parse(must(words).output);
        const std::string warnings = json.at("warnings").dump();
        CAPTURE(warnings);
        CHECK(warnings.find(one.warning) != std::string::npos);
        CHECK((warnings == "[]") == (*one.warning == '\0'));
        CHECK(json.at("half_stacks") == false);
        CHECK(json.at("detail_gains").size() > 3);
      }
    }
    // Its blur is not known: detail stays unchanged, and a note reports it.
    const Run run = must({"finish", folder.file("linear.tif"), "-o", folder.file("out.tif")});
    CHECK(run.output.find("--blur") != std::string::npos);
  }

  // numpy.flipud and rot90, which counts counter-clockwise; both by tifffile and Pillow.
  TEST_CASE("the picture and its copy are turned, the linear stack is not") {
    const TemporaryFolder folder;
    must({"stack", sample("belts_mosaic.nut"), "-o", folder.file("turned.tif"), "--keep", "20%",
          "--share", folder.file("turned.png"), "--flip", "top-bottom", "--rotate", "90",
          "--quiet"});
    must({"finish", folder.file("turned.linear.fits"), "-o", folder.file("plain.tif"), "--share",
          folder.file("plain.png"), "--quiet"});
    const Run run = run_program({"/usr/bin/python3", "-c",
                                 "import sys, numpy as np, tifffile\n"
                                 "from PIL import Image\n"
                                 "turn = lambda a: np.rot90(np.flipud(a), -1)\n"
                                 "for kind in (tifffile.imread, Image.open):\n"
                                 "  ending = '.tif' if kind is tifffile.imread else '.png'\n"
                                 "  a, b = (np.asarray(kind(sys.argv[1] + n + ending))\n"
                                 "          for n in ('plain', 'turned'))\n"
                                 "  assert np.array_equal(turn(a), b), (a.shape, b.shape)\n",
                                 folder.file("")});
    CAPTURE(run.errors);
    CHECK(run.status == 0);
  }

  TEST_CASE("tone: the picture carries its profile, the linear stack stays as it is") {
    const TemporaryFolder folder;
    must({"stack", sample("belts_mosaic.nut"), "-o", folder.file("a.tif"), "--keep", "20%",
          "--quiet"});
    for (const char* name : {"g.tif", "g.png", "g.fits"}) {
      CAPTURE(name);
      must({"finish", folder.file("a.linear.fits"), "-o", folder.file(name), "--tone", "gamma",
            "--saturation", "1.4", "--white-balance", "grey", "--white", "0.5", "--quiet"});
      // Its own record is used: a second stretch is refused, and a finish gets a warning.
      const Run again = run_lull(
          {"finish", folder.file(name), "-o", folder.file("t.tif"), "--tone", "asinh", "--quiet"});
      CHECK(again.status == 2);
      CHECK(again.errors.find("already stretched") != std::string::npos);
      CHECK(must({"finish", folder.file(name), "-o", folder.file("h.tif"), "--blur", "2"})
                .output.find("stretched") != std::string::npos);
    }
    must({"stack", sample("belts_mosaic.nut"), "-o", folder.file("b.tif"), "--keep", "20%",
          "--quiet", "--tone", "gamma", "--saturation", "1.4", "--white-balance", "grey", "--white",
          "0.5"});
    CHECK(read_file(folder.file("b.tif")) == read_file(folder.file("g.tif")));
    CHECK(read_file(folder.file("b.linear.fits")) == read_file(folder.file("a.linear.fits")));
    const auto checked = lull::test::run_program({"pngcheck", folder.file("g.png")});
    CAPTURE(checked.text());
    CHECK(checked.status == 0);
  }

  TEST_CASE("the copy to share is 8 bits by the sRGB curve, as OpenCV reads it") {
    const TemporaryFolder folder;
    make_files(folder);
    for (const char* name : {"s.png", "s.jpg"}) {
      CAPTURE(name);
      must({"finish", folder.file("linear.tif"), "-o", folder.file("g.png"), "--tone", "gamma",
            "--share", folder.file(name), "--quiet"});
      must({"finish", folder.file("linear.tif"), "-o", folder.file("l.png"), "--share",
            folder.file(std::string("l_") + name), "--quiet"});
      for (const std::string& copy : {std::string(name), std::string("l_") + name}) {
        // The 16-bit picture of the same tone, whose curve finish/tone_test judges.
        const auto ran = lull::test::run_program(
            {"/usr/bin/python3", "-c",
             ("import cv2,sys,numpy as np\n"
              "a,b=[cv2.imread(f,cv2.IMREAD_UNCHANGED) for f in sys.argv[1:]]\n"
              "assert a.dtype==np.uint16 and b.dtype==np.uint8 and a.shape==b.shape\n"
              "print(np.abs(a/257.-b).max())"),
             folder.file("g.png"), folder.file(copy)});
        CAPTURE(ran.text());
        REQUIRE(ran.status == 0);
        // Rounding to 8 bits; JPEG at quality 92 may be off by a few levels more.
        CHECK(std::stod(ran.text()) < (copy.ends_with("png") ? 0.51 : 6));
      }
    }
    const Run bad = run_lull({"finish", folder.file("linear.tif"), "-o", folder.file("x.png"),
                              "--share", folder.file("s.gif")});
    CHECK(bad.status == 2);
    CHECK(bad.errors.find(".jpg") != std::string::npos);
    CHECK_FALSE(std::filesystem::exists(folder.file("x.png")));
  }

  // The blue of the mosaic is darkest in its sky: medians were 10, 4 and 0 of 255.
  TEST_CASE("the sky of a shared copy in colour is black, and has no colour") {
    const TemporaryFolder folder;
    must({"stack", sample("belts_mosaic.nut"), "-o", folder.file("a.tif"), "--keep", "20%",
          "--share", folder.file("s.png"), "--quiet"});
    // The four corners are sky: the darkest 5% of the linear stack.
    const auto ran = lull::test::run_program(
        {"/usr/bin/python3", "-c",
         ("import cv2,sys,numpy as np\n"
          "from astropy.io import fits\n"
          "light=fits.getdata(sys.argv[1]).mean(0)\n"
          "sky=cv2.imread(sys.argv[2])[light<np.quantile(light,.05)].astype(float)\n"
          "print(np.ptp(np.median(sky,0)), np.ptp(sky.mean(0)), np.median(sky))"),
         folder.file("a.linear.fits"), folder.file("s.png")});
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    std::istringstream words(ran.text());
    double medians = 99;
    double means = 99;
    double level = 99;
    words >> medians >> means >> level;
    CHECK(medians <= 2);
    CHECK(means <= 2);
    CHECK(level <= 2);
  }

  TEST_CASE("under the copy to share: a caption, and a bar as long as the optics make it") {
    const TemporaryFolder folder;
    must({"stack",
          sample("highland.mkv"),
          "-o",
          folder.file("a.tif"),
          "--keep",
          "20%",
          "--quiet",
          "--report",
          "none",
          "--object",
          "moon",
          "--aperture",
          "203",
          "--focal-length",
          "2900",
          "--pixel",
          "3",
          "--share",
          folder.file("a.png"),
          "--caption",
          "auto",
          "--scale-bar"});
    must({"finish", folder.file("a.linear.fits"), "-o", folder.file("b.tif"), "--quiet", "--share",
          folder.file("b.png"), "--caption", "auto", "--scale-bar"});
    must({"finish", folder.file("a.linear.fits"), "-o", folder.file("c.tif"), "--quiet", "--share",
          folder.file("c.png")});
    CHECK(read_file(folder.file("a.png")) == read_file(folder.file("b.png")));
    CHECK(read_file(folder.file("a.tif")) == read_file(folder.file("c.tif")));  // only the copy
    // The longest white run under the picture is the bar.
    const auto ran = lull::test::run_program(
        {"/usr/bin/python3", "-c",
         ("import cv2,sys,itertools\n"
          "a,c=[cv2.imread(f,cv2.IMREAD_UNCHANGED) for f in sys.argv[1:]]\n"
          "assert (a[:len(c)]==c).all() and a.shape[1]==c.shape[1]\n"
          "print(max(len(list(g)) for r in a[len(c):] for k,g in itertools.groupby(r) if k==255))"),
         folder.file("a.png"), folder.file("c.png")});
    CAPTURE(ran.text());
    REQUIRE(ran.status == 0);
    // 206.265 x 3 um / 2900 mm = 0.2134 arcsec a pixel (common knowledge of optics); a quarter of
    // the some 313 px is 16.7 arcsec, so the bar is 10 arcsec.
    CHECK(std::stoi(ran.text()) == std::lround(10 / (206.265 * 3 / 2900)));
    for (const std::vector<std::string>& wrong :
         {std::vector<std::string>{"--caption", "x"}, {"--scale-bar"}}) {
      std::vector<std::string> words = {"finish", folder.file("a.linear.fits"), "-o",
                                        folder.file("x.tif")};
      words.insert(words.end(), wrong.begin(), wrong.end());
      const Run run = run_lull(words);
      CHECK(run.status == 2);
      CHECK(run.errors.find("--share") != std::string::npos);
    }
    make_files(folder);
    const Run unknown = run_lull({"finish", folder.file("linear.tif"), "-o", folder.file("y.tif"),
                                  "--share", folder.file("y.png"), "--caption", "auto"});
    CHECK(unknown.status == 2);
    CHECK(unknown.errors.find("--caption auto") != std::string::npos);
    CHECK_FALSE(std::filesystem::exists(folder.file("y.tif")));
  }

  TEST_CASE("the Sun's limb is flattened on request, and missed where there is none") {
    const TemporaryFolder folder;
    const Run none = run_lull({"stack", sample("highland.mkv"), "-o", folder.file("a.tif"),
                               "--keep", "5", "--flatten-limb", "--quiet"});
    CHECK(none.status == 4);
    CHECK(none.errors.find("--flatten-limb") != std::string::npos);
    CHECK(std::filesystem::is_empty(folder.path()));
  }

  TEST_CASE("what cannot be finished is refused with its reason, and nothing is written") {
    const TemporaryFolder folder;
    make_files(folder);
    const TemporaryFolder results;

    struct Case {
      const char* file;
      const char* reason;
    };

    for (const Case& one :
         {Case{"alpha.png", "alpha channel"}, Case{"alpha.tif", "alpha channel"},
          Case{"nan.fits", "not finite numbers"}, Case{"infinite.fits", "not finite numbers"},
          Case{"spike.fits", "its value 1e+30 at column 7, row 5 is too large"},
          Case{"packed.fits", "unpack it first, for example with funpack"},
          Case{"several.fits", "2 images"}, Case{"cube.fits", "NAXIS3"},
          Case{"misfit.fits", "does not fit"}, Case{"columns.fits", "does not fit"},
          Case{"tiny.tif", "at least 16"}, Case{"huge.png", "60000 x 60000"},
          Case{"missing.tif", "missing.tif"}}) {
      CAPTURE(one.file);
      const Run run = run_lull(
          {"finish", folder.file(one.file), "-o", results.file("o.tif"), "--blur", "3", "--quiet"});
      CAPTURE(run.errors);
      CHECK(run.status == 3);
      CHECK(run.errors.find(one.reason) != std::string::npos);
      CHECK(std::filesystem::is_empty(results.path()));
    }
  }

  TEST_CASE("curves and numbers that make no sense are refused before any work") {
    const TemporaryFolder folder;
    const auto refused = [&](const std::vector<std::string>& options, const std::string& reason) {
      for (const std::string verb : {"finish", "stack"}) {
        std::vector<std::string> words = {verb, "missing.fits", "-o", folder.file("o.tif")};
        words.insert(words.end(), options.begin(), options.end());
        const Run run = run_lull(words);
        CAPTURE(options.back());
        CAPTURE(run.errors);
        CHECK(run.status == 2);
        CHECK(run.errors.find(reason) != std::string::npos);
      }
    };
    for (const char* curve :
         {"", "2", "2:", ":2", "2:1,", "2:1;3:1", "a:1", "2:x", "2:1 3:1", "sharp"})
      refused({"--detail", curve}, "1.5:2.0,3:1.6,8:1.1");
    refused({"--detail", "3:2,2:1"}, "2 px does not come after 3 px");
    refused({"--detail", "3:2,3:1"}, "does not come after");
    refused({"--detail", "0:2"}, "not between 1 and 1000 px");
    refused({"--detail", "-2:2"}, "not between");
    refused({"--detail", "5000:2"}, "not between");
    refused({"--detail", "nan:2"}, "not between");
    refused({"--detail", "2:-1"}, "gain -1");
    refused({"--detail", "2:1e9"}, "gain");
    refused({"--detail", "2:inf"}, "gain");
    refused({"--detail", "2:2", "--blur", "3"}, "leave out one");
    refused({"--tone", "gama"}, "gamma");
    refused({"--black", "dark"}, "--black");
    refused({"--white", "nan"}, "--white");
    refused({"--black", "0.5", "--white", "0.4"}, "above --black");
    refused({"--saturation", "9"}, "--saturation");
    refused({"--blur", "0.1"}, "--blur");
    refused({"--restraint", "1.5"}, "--restraint");
    CHECK(std::filesystem::is_empty(folder.path()));
  }

  TEST_CASE("the picture to finish is never overwritten, nor one that cannot be written begun") {
    const TemporaryFolder folder;
    make_files(folder);
    CHECK(run_lull({"finish", folder.file("linear.tif"), "-o", folder.file("linear.tif")}).status ==
          2);
    CHECK(run_lull({"finish", folder.file("linear.tif"), "-o", folder.file("no/x.tif")}).status ==
          5);
    CHECK(run_lull({"finish", folder.file("linear.tif"), "-o", folder.file("x.bmp")}).status == 2);
  }
}
