#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"

// Each main kind of capture goes through the command line: the samples, and what the ffmpeg
// program, which is independent of our writer, makes of one of them.

namespace {

using namespace lull::test;
using nlohmann::json;

json ranked(const std::string& path) {
  const Run run = run_lull({"rank", path, "--json", "--quiet"});
  CAPTURE(path);
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
  return json::parse(run.output);
}

bool is_noted(const json& figures, const std::string& words) {
  for (const json& note : figures["notes"]) {
    if (note.get<std::string>().find(words) != std::string::npos) return true;
  }
  return false;
}

/// What ffmpeg makes of the first 12 frames of a sample. Options are separated by spaces.
void make_by_ffmpeg(const std::string& from, const std::string& options, const std::string& to) {
  std::vector<std::string> words = {
      "ffmpeg", "-v", "error", "-nostdin", "-y", "-i", "file:" + sample(from), "-frames:v", "12"};
  std::istringstream text(options);
  words.insert(words.end(), std::istream_iterator<std::string>(text), {});
  words.push_back("file:" + to);
  const Run run = run_program(words);
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
}

}  // namespace

TEST_SUITE("cli/kinds") {
  TEST_CASE("the sample of each kind is ranked, all its frames usable") {
    struct Kind {
      std::string name;
      int frames;
    };

    for (const Kind& kind :
         {Kind{"globe_cube.fits", 24}, Kind{"globe_frames/globe_%03d.png", 24},
          Kind{"telephone.mp4", 90}, Kind{"webcam_uyvy.avi", 50}, Kind{"belts_mosaic.nut", 60}}) {
      CAPTURE(kind.name);
      const json figures = ranked(sample(kind.name));
      CHECK(figures["usable"] == kind.frames);
      CHECK(figures["frames"].size() == static_cast<std::size_t>(kind.frames));
      CHECK(is_noted(figures, "predicted from one another") == (kind.name == "telephone.mp4"));
    }
  }

  TEST_CASE("a FITS cube and the pictures it was made of give the same ranking") {
    const json cube = ranked(sample("globe_cube.fits"));
    const json pictures = ranked(sample("globe_frames/globe_%03d.png"));
    CHECK(cube["best_first"] == pictures["best_first"]);
  }

  TEST_CASE("what ffmpeg writes in codecs and containers of cameras is ranked") {
    struct Kind {
      std::string file, options;
      bool predicted;
    };

    const TemporaryFolder folder;
    for (const Kind& kind : {
             Kind{"hevc.mp4", "-c:v libx265 -pix_fmt yuv420p10le -x265-params log-level=none",
                  true},
             Kind{"prores.mov", "-c:v prores_ks -pix_fmt yuv422p10le", false},
             Kind{"dnxhr.mov", "-vf scale=256:256 -c:v dnxhd -profile:v dnxhr_hq -pix_fmt yuv422p",
                  false},
             Kind{"motion.avi", "-c:v mjpeg -pix_fmt yuvj422p", false},
             Kind{"ut.avi", "-c:v utvideo -pix_fmt gbrp", false},
             Kind{"packed.avi", "-c:v rawvideo -pix_fmt yuyv422", false},
             Kind{"lossless.mkv", "-c:v ffv1 -pix_fmt gray10le -g 1", false},
             Kind{"moon_%02d.tif", "-pix_fmt gray16le", false},
             Kind{"moon_%02d.png", "-pix_fmt rgb24", false},
         }) {
      CAPTURE(kind.file);
      make_by_ffmpeg("highland.mkv", kind.options, folder.file(kind.file));
      const json figures = ranked(folder.file(kind.file));
      CHECK(figures["usable"] == 12);
      CHECK(is_noted(figures, "predicted from one another") == kind.predicted);
    }
  }

  TEST_CASE("a variable frame rate gives each frame its own time") {
    const TemporaryFolder folder;
    const std::string path = folder.file("variable.mp4");
    // The time of frame n is n (n + 1) / 2 hundredths of a second.
    make_by_ffmpeg("highland.mkv",
                   "-vf settb=1/100,setpts=N*(N+1)/2 -vsync vfr -c:v libx264 "
                   "-pix_fmt yuv420p -enc_time_base 1/100",
                   path);
    const json figures = ranked(path);
    REQUIRE(figures["frames"].size() == 12);
    for (const int n : {1, 2, 6, 11}) {
      CAPTURE(n);
      CHECK(figures["frames"][static_cast<std::size_t>(n)]["time_s"].get<double>() ==
            doctest::Approx(n * (n + 1) / 2.0 * 0.01).epsilon(1e-3));
    }
  }

  TEST_CASE("names with spaces, quotes, letters of other alphabets and line breaks are read") {
    const TemporaryFolder folder;
    for (const std::string name : {"two words.ser", "it's \"quoted\".ser", "Луна-月é.ser",
                                   "two\nlines.ser", "-dash.ser", "100% moon.ser", "a:b.ser"}) {
      CAPTURE(name);
      std::filesystem::copy_file(sample("globe_cube.fits"), folder.file(name));
      const json figures = ranked(folder.file(name));
      CHECK(figures["usable"] == 24);
      CHECK(figures["capture"] == folder.file(name));
    }
  }

  TEST_CASE("a capture in a folder that cannot be written gives its result elsewhere") {
    const TemporaryFolder folder;
    std::filesystem::copy_file(sample("globe_cube.fits"), folder.file("a.fits"));
    std::filesystem::permissions(folder.file("a.fits"), std::filesystem::perms::owner_read);
    std::filesystem::permissions(
        folder.path(), std::filesystem::perms::owner_read | std::filesystem::perms::owner_exec);
    const TemporaryFolder other;
    const Run run =
        run_lull({"rank", folder.file("a.fits"), "--csv", other.file("frames.csv"), "--quiet"});
    std::filesystem::permissions(folder.path(), std::filesystem::perms::owner_all);
    CAPTURE(run.errors);
    CHECK(run.status == 0);
    CHECK(std::filesystem::exists(other.file("frames.csv")));
  }
}

TEST_SUITE("cli/large") {
  // Sparse files: the frames that are not written are zeros, which are black and take no disk.
  TEST_CASE("frames beyond 4 GiB are read by index, and memory does not follow the file") {
    const TemporaryFolder folder;
    const std::string path = folder.file("large.ser");
    Bytes head = read_file(sample("ringed_faint.ser"));
    head.resize(178);
    constexpr std::int32_t kSide = 4096;
    constexpr std::int32_t kFrames = 300;  // 16 MiB each: 5 GB
    put_integer(head, 26, kSide);
    put_integer(head, 30, kSide);
    put_integer(head, 38, kFrames);
    write_file(path, head);
    constexpr std::uintmax_t kFrameBytes = std::uintmax_t{kSide} * kSide;
    std::filesystem::resize_file(path, 178 + kFrameBytes * kFrames);
    {
      std::fstream file(path, std::ios::in | std::ios::out | std::ios::binary);
      file.seekp(static_cast<std::streamoff>(178 + kFrameBytes * 299 + 5));
      file.put('\x7f');
    }
    const auto capture = lull::capture::Capture::open(path);
    CHECK(capture->info().storage.header_frames == kFrames);
    const auto last = capture->at(299);
    REQUIRE(last.ok());
    CHECK(static_cast<int>(last.value().planes[0].data[5]) == 0x7f);
    CHECK(static_cast<int>(last.value().planes[0].data[4]) == 0);
    CHECK_FALSE(capture->at(300).ok());
  }

  TEST_CASE("more than 100,000 frames are counted, and read in bounded memory") {
    const TemporaryFolder folder;
    const std::string path = folder.file("long.ser");
    Bytes head = read_file(sample("ringed_faint.ser"));
    head.resize(178);
    constexpr std::int32_t kFrames = 120'000;
    put_integer(head, 26, 32);
    put_integer(head, 30, 32);
    put_integer(head, 38, kFrames);
    write_file(path, head);
    std::filesystem::resize_file(path, 178 + std::uintmax_t{1024} * kFrames);
    const Run run = run_lull({"rank", path, "--quiet"});
    CAPTURE(run.errors);
    CHECK(run.status == 4);  // all black: nothing usable
    CHECK(run.errors.find("120000") != std::string::npos);
    if (kOwnMemory) CHECK(run.peak_kib < 400 * 1024);
  }

  // The ffmpeg program writes them: MOV in a separate track, Matroska as a tag.
  TEST_CASE("time codes of the recorder are reported") {
    const TemporaryFolder folder;
    for (const std::string ending : {"mov", "mkv"}) {
      const std::string path = folder.file("a." + ending);
      make_by_ffmpeg("highland.mkv", "-c:v png -r 25 -timecode 01:00:03:12", path);
      const Run run = run_lull({"inspect", path, "--json", "--quiet"});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      CHECK(json::parse(run.output)["timecode"] == "01:00:03:12");
    }
    const Run none = run_lull({"inspect", sample("highland.mkv"), "--json", "--quiet"});
    CHECK(json::parse(none.output)["timecode"].is_null());
  }

  TEST_CASE("a dark of another exposure is reported, as FITS or as the master made of it") {
    const TemporaryFolder folder;
    const std::string script =
        "import sys, numpy as np; from astropy.io import fits\n"
        "r = np.random.default_rng(3); y, x = np.mgrid[0:64, 0:64]\n"
        "disc = 2000 / (1 + np.exp((np.hypot(x - 31, y - 31) - 18) / 2))\n"
        "for name, light, s in (('lights', disc, 0.02), ('dark', 0 * disc, 0.05)):\n"
        "    cube = (light + 100 + r.normal(0, 5, (24, 64, 64))).astype(np.uint16)\n"
        "    hdu = fits.PrimaryHDU(cube); hdu.header['EXPTIME'] = s\n"
        "    hdu.writeto(sys.argv[1] + '/' + name + '.fits')\n";
    std::ofstream(folder.file("make.py")) << script;
    const Run made = run_python(folder.file("make.py"), {folder.path()});
    CAPTURE(made.errors);
    REQUIRE(made.status == 0);
    const std::string master = folder.file("master.fits");
    REQUIRE(
        run_lull({"master", folder.file("dark.fits"), "-o", master, "--kind", "dark", "--quiet"})
            .status == 0);
    for (const std::string& dark : {folder.file("dark.fits"), master}) {
      CAPTURE(dark);
      const Run run =
          run_lull({"inspect", folder.file("lights.fits"), "--dark", dark, "--json", "--quiet"});
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      const json figures = json::parse(run.output);
      CHECK(figures["exposure_s"].get<double>() == doctest::Approx(0.02));
      CHECK(is_noted(figures, "the dark was exposed for 0.05 s, the capture for 0.02 s"));
    }
  }

  // Its pixels under other filters would differ from their neighbours like defects.
  TEST_CASE("nothing is repaired in a mosaic that is stored as gray, until its filters are named") {
    const TemporaryFolder folder;
    const std::string gray = folder.file("gray.mkv");
    REQUIRE(
        run_lull({"rank", sample("belts_mosaic.nut"), "--best-first", gray, "--quiet"}).status ==
        0);
    const json doubted = ranked(gray);
    CHECK(is_noted(doubted, "--cfa RGGB or BGGR"));
    CHECK(is_noted(doubted, "no search for hot and cold pixels: the colour filters are doubtful"));
    CHECK_FALSE(is_noted(doubted, "are repaired"));
    const Run named = run_lull({"rank", gray, "--cfa", "RGGB", "--json", "--quiet"});
    REQUIRE(named.status == 0);
    CHECK_FALSE(is_noted(json::parse(named.output), "doubtful"));
  }
}
