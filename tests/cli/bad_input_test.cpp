// Covers: cli/cli, cli/interrupts, run/memory_size, run/verdict, core/error
#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <cstring>
#include <filesystem>
#include <iterator>
#include <random>

#include "support/bytes.h"
#include "support/memory_capture.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

// Every kind of bad input ends in its exit status (core/error.h), a message on what and where, and
// nothing half-written.

namespace {

using namespace lull::test;
namespace fs = std::filesystem;

constexpr int kWidth = 96;
constexpr int kHeight = 80;

std::vector<std::byte> grey(const std::vector<std::uint8_t>& samples) { return bytes_of(samples); }

std::vector<std::uint8_t> even(std::uint8_t level) {
  return std::vector<std::uint8_t>(static_cast<std::size_t>(kWidth) * kHeight, level);
}

std::vector<std::uint8_t> noise(unsigned seed) {
  std::mt19937 random(seed);
  std::normal_distribution<double> value(100, 15);
  std::vector<std::uint8_t> samples(std::size_t{kWidth} * kHeight);
  for (std::uint8_t& sample : samples)
    sample = static_cast<std::uint8_t>(std::clamp(value(random), 0.0, 255.0));
  return samples;
}

std::vector<std::uint8_t> scene(int step, unsigned seed) {
  auto samples = noise(seed);
  for (int y = 0; y < kHeight; ++y) {
    for (int x = 0; x < kWidth; ++x) {
      const double wave = 40 * std::sin((x + step) / 4.0) * std::cos((y - step) / 5.0) +
                          30 * std::sin((x + step) * (y - step) / 300.0);
      auto& sample = samples[static_cast<std::size_t>(std::ptrdiff_t{y} * kWidth + x)];
      const int faint = sample / 8;
      sample = static_cast<std::uint8_t>(std::clamp(faint + 100 + wave, 0.0, 255.0));
    }
  }
  return samples;
}

template <class Picture>
std::string capture_of(const TemporaryFolder& folder, int frames, const Picture& picture) {
  std::string path = folder.file("capture.avi");
  std::vector<std::vector<std::byte>> pictures;
  pictures.reserve(static_cast<std::size_t>(frames));
  for (int i = 0; i < frames; ++i) pictures.push_back(grey(picture(i)));
  write_video(path, {.width_px = kWidth, .height_px = kHeight}, pictures);
  return path;
}

// The folder holds nothing but the capture (and what was there before).
int files_in(const TemporaryFolder& folder) {
  return static_cast<int>(
      std::distance(fs::directory_iterator(folder.path()), fs::directory_iterator()));
}

void check_refused(const TemporaryFolder& folder, const std::string& capture, int status,
                   const std::string& word) {
  const int before = files_in(folder);
  for (const std::string command : {"stack", "rank", "inspect"}) {
    CAPTURE(command);
    std::vector<std::string> arguments = {command, capture};
    if (command == "stack") arguments.insert(arguments.end(), {"-o", folder.file("out.tif")});
    const Run run = run_lull(arguments);
    CAPTURE(run.errors);
    CHECK(run.status == status);
    CHECK(run.errors.find(word) != std::string::npos);
    CHECK(run.errors.rfind("lull: ", 0) == 0);
    CHECK(files_in(folder) == before);
  }
}

void check_stack_refused(const TemporaryFolder& folder, const std::string& capture, int status) {
  const int before = files_in(folder);
  const Run run = run_lull({"stack", capture, "-o", folder.file("out.tif"), "--quiet"});
  CAPTURE(run.errors);
  CHECK(run.status == status);
  CHECK_FALSE(run.errors.empty());
  CHECK(files_in(folder) == before);
}

}  // namespace

TEST_SUITE("cli/bad_input") {
  TEST_CASE("what is no capture is refused with status 3") {
    const TemporaryFolder folder;
    check_refused(folder, folder.file("missing.ser"), 3, "missing.ser");
    check_refused(folder, folder.path(), 3, folder.path());
    write_file(folder.file("empty.avi"), {});
    check_refused(folder, folder.file("empty.avi"), 3, "empty.avi");
    const std::string text = "Once upon a time there was no video in this file at all.\n";
    Bytes bytes(text.size());
    std::memcpy(bytes.data(), text.data(), text.size());
    write_file(folder.file("letter.avi"), bytes);
    check_refused(folder, folder.file("letter.avi"), 3, "letter.avi");
  }

  TEST_CASE("headers that promise what is not there are refused with status 3") {
    const TemporaryFolder folder;
    const Bytes sample = read_file(std::string(LULL_SAMPLES) + "/ringed_faint.ser");
    write_file(folder.file("header.ser"), Bytes(sample.begin(), sample.begin() + 178));
    check_refused(folder, folder.file("header.ser"), 3, "header.ser");
    Bytes zero(sample.begin(), sample.begin() + 200000);
    put_integer(zero, 26, 0);  // width
    write_file(folder.file("zero.ser"), zero);
    check_refused(folder, folder.file("zero.ser"), 3, "zero.ser");
    Bytes absurd = zero;
    put_integer(absurd, 26, 2000000000);
    put_integer(absurd, 30, 2000000000);
    write_file(folder.file("absurd.ser"), absurd);
    check_refused(folder, folder.file("absurd.ser"), 3, "absurd.ser");
  }

  TEST_CASE("a truncated capture gives what its whole frames allow") {
    const TemporaryFolder folder;
    const Bytes sample = read_file(std::string(LULL_SAMPLES) + "/ringed_faint.ser");
    const std::size_t frame = std::size_t{240} * 144;
    write_file(folder.file("cut.ser"),
               Bytes(sample.begin(),
                     sample.begin() + static_cast<std::ptrdiff_t>(178 + 60 * frame + 1000)));
    const Run run = run_lull({"stack", folder.file("cut.ser"), "-o", folder.file("out.tif")});
    CAPTURE(run.errors);
    CHECK(run.status == 0);
    CHECK(run.output.find("of 60 frames") != std::string::npos);
    CHECK(run.output.find("incomplete") != std::string::npos);
  }

  TEST_CASE("captures without anything usable end with status 4") {
    const TemporaryFolder folder;
    SUBCASE("one frame") {
      check_stack_refused(
          folder,
          capture_of(folder, 1, [](int i) { return scene(0, 10U + static_cast<unsigned>(i)); }), 4);
    }
    SUBCASE("all black") {
      check_stack_refused(folder, capture_of(folder, 12, [](int) { return even(0); }), 4);
    }
    SUBCASE("all saturated") {
      check_stack_refused(folder, capture_of(folder, 12, [](int) { return even(255); }), 4);
    }
    SUBCASE("all identical") {
      check_stack_refused(folder, capture_of(folder, 12, [](int) { return scene(0, 3); }), 4);
    }
    SUBCASE("pure noise") {
      check_stack_refused(
          folder, capture_of(folder, 40, [](int i) { return noise(static_cast<unsigned>(i)); }), 4);
    }
    SUBCASE("a flat field whose pixels differ as much as their noise") {
      const auto pattern = noise(1000);
      check_stack_refused(
          folder,
          capture_of(folder, 40,
                     [&](int i) {
                       auto samples = noise(static_cast<unsigned>(i));
                       for (std::size_t k = 0; k < samples.size(); ++k)
                         samples[k] = static_cast<std::uint8_t>((samples[k] + pattern[k]) / 2);
                       return samples;
                     }),
          4);
    }
    SUBCASE("too small") {
      const std::string path = folder.file("tiny.avi");
      write_video(path, {.width_px = 16, .height_px = 16},
                  std::vector<std::vector<std::byte>>(4, std::vector<std::byte>(256)));
      check_stack_refused(folder, path, 4);
    }
  }

  TEST_CASE("a surface that moves less than the air allows is reported, unless it is calibrated") {
    const TemporaryFolder folder;
    const auto stack = [&](int step, const std::vector<std::string>& more) {
      const std::string path = capture_of(folder, 12, [&](int i) {
        auto samples = scene(i * step, 60);
        const auto little = noise(static_cast<unsigned>(i));
        for (std::size_t k = 0; k < samples.size(); ++k)
          samples[k] = static_cast<std::uint8_t>(samples[k] + little[k] % 2);
        return samples;
      });
      std::vector<std::string> words = {"stack",    path,   "-o",       folder.file("a.png"),
                                        "--report", "none", "--finish", "none"};
      words.insert(words.end(), more.begin(), more.end());
      return run_lull(words);
    };
    const std::string flat = folder.file("flat.avi");
    write_video(flat, {.width_px = kWidth, .height_px = kHeight},
                std::vector<std::vector<std::byte>>(4, grey(even(200))));
    CHECK(stack(0, {}).output.find("marks on the sensor") != std::string::npos);
    CHECK(stack(0, {"--flat", flat}).output.find("marks on the sensor") == std::string::npos);
    CHECK(stack(1, {}).output.find("marks on the sensor") == std::string::npos);
  }

  TEST_CASE("frames of another size in the middle are left out and reported") {
    const TemporaryFolder folder;
    std::vector<std::vector<std::byte>> large;
    std::vector<std::vector<std::byte>> small;
    large.reserve(12);
    for (int i = 0; i < 12; ++i)
      large.push_back(grey(scene(i / 3, 40U + static_cast<unsigned>(i))));
    small.assign(4, std::vector<std::byte>(std::size_t{64} * 48));
    write_video(folder.file("a.mjpeg"),
                {.codec = "mjpeg",
                 .pixel_format = "yuvj420p",
                 .width_px = kWidth,
                 .height_px = kHeight,
                 .full_range = true},
                [&] {
                  for (auto& p : large) p.resize(p.size() * 3 / 2, std::byte{128});
                  return large;
                }());
    write_video(folder.file("b.mjpeg"),
                {.codec = "mjpeg",
                 .pixel_format = "yuvj420p",
                 .width_px = 64,
                 .height_px = 48,
                 .full_range = true},
                [&] {
                  for (auto& p : small) p.resize(p.size() * 3 / 2, std::byte{128});
                  return small;
                }());
    Bytes joined = read_file(folder.file("a.mjpeg"));
    const Bytes other = read_file(folder.file("b.mjpeg"));
    joined.insert(joined.end(), other.begin(), other.end());
    write_file(folder.file("mixed.mjpeg"), joined);
    const Run run = run_lull({"rank", folder.file("mixed.mjpeg")});
    CAPTURE(run.errors);
    CHECK(run.status == 0);
    CHECK(run.output.find("damaged: 4") != std::string::npos);
  }
}

TEST_SUITE("cli/bad_output") {
  TEST_CASE("a result is never written over an input") {
    const TemporaryFolder folder;
    const std::string path = folder.file("capture.tif");
    fs::copy_file(capture_of(folder, 12, [](int i) { return scene(i, static_cast<unsigned>(i)); }),
                  path);
    const Bytes before = read_file(path);
    const Run run = run_lull({"stack", path, "-o", path});
    CHECK(run.status == 2);
    CHECK(run.errors.find("input") != std::string::npos);
    CHECK(read_file(path) == before);
  }

  TEST_CASE(
      "a full disk gives status 5, keeps the earlier result and leaves nothing half-written") {
    const TemporaryFolder folder;
    const std::string capture =
        capture_of(folder, 12, [](int i) { return scene(i, static_cast<unsigned>(i)); });
    const std::string out = folder.file("out.tif");
    write_file(out, Bytes(10, std::byte{7}));
    const int before = files_in(folder);
    RunOptions options;
    options.file_size_limit = 4096;
    const Run run = run_lull({"stack", capture, "-o", out, "--quiet", "--overwrite"}, options);
    CAPTURE(run.errors);
    CHECK(run.status == 5);
    CHECK(read_file(out) == Bytes(10, std::byte{7}));
    CHECK(files_in(folder) == before);
  }

  TEST_CASE("a folder that is missing or another file's name is refused before any work") {
    const TemporaryFolder folder;
    const std::string capture =
        capture_of(folder, 12, [](int i) { return scene(i, static_cast<unsigned>(i)); });
    CHECK(run_lull({"stack", capture, "-o", folder.file("no/such/out.tif")}).status == 5);
    CHECK(run_lull({"stack", capture, "-o", folder.file("out.jpg")}).status == 2);
    CHECK(run_lull({"rank", capture, "--csv", folder.path()}).status == 5);
  }

  TEST_CASE("Ctrl-C ends with status 130 and leaves nothing half-written") {
    const TemporaryFolder folder;
    const std::string out = folder.file("out.tif");
    write_file(out, Bytes(10, std::byte{7}));
    const int before = files_in(folder);
    // The sample takes long enough, on one thread, to be caught at work.
    RunOptions options;
    options.interrupt_after_ms = 150;
    const Run run = run_lull({"stack", std::string(LULL_SAMPLES) + "/highland.mkv", "-o", out,
                              "--threads", "1", "--overwrite"},
                             options);
    CAPTURE(run.errors);
    CHECK(run.status == 130);
    CHECK(read_file(out) == Bytes(10, std::byte{7}));
    CHECK(files_in(folder) == before);
  }

  TEST_CASE("every long run ends soon after Ctrl-C, wherever it is, with one line that says so") {
    const TemporaryFolder folder;
    REQUIRE(run_python("cli/long_runs.py", {folder.path(), sample("ringed_faint.ser")}).status ==
            0);
    const std::vector<std::vector<std::string>> runs = {
        {"finish", folder.file("large.fits"), "-o", folder.file("a.tif"), "--detail", "2:2,4:1.5"},
        {"master", folder.file("large.ser"), "--kind", "flat", "-o", folder.file("m.fits")},
        {"rank", folder.file("tiny.ser"), "--best-first", folder.file("b.mkv")},
        {"stack", folder.file("large.ser"), "-o", folder.file("s.tif"), "--report",
         folder.file("s.html")}};
    const int before = files_in(folder);
    const auto seconds_of = [](const std::vector<std::string>& words, const RunOptions& options,
                               Run& run) {
      const auto begin = std::chrono::steady_clock::now();
      run = run_lull(words, options);
      return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
    };
    Run run;
    const double loading_s = seconds_of({"--version"}, {}, run);
    for (std::vector<std::string> words : runs) {
      words.emplace_back("--quiet");
      for (const int after_ms : {300, 700}) {
        CAPTURE(words.front());
        CAPTURE(after_ms);
        RunOptions options;
        options.interrupt_after_ms = after_ms;
        const double took_s = seconds_of(words, options, run);
        CHECK(run.status == 130);
        CHECK(run.errors == "lull: interrupted\n");
        // Half a second, and as much again for a machine that does other things.
        if (kOwnMemory) CHECK(took_s < 2 * loading_s + 0.001 * after_ms + 1.0);
        CHECK(files_in(folder) == before);
      }
    }
  }
}

TEST_SUITE("cli/usage") {
  TEST_CASE("help shows which commands take several captures") {
    const auto usage = [](const std::string& verb) {
      const std::string text = run_lull({verb, "--help"}).output;
      const std::size_t begin = text.find("Usage: ");
      return text.substr(begin, text.find('\n', begin) - begin);
    };
    CHECK(usage("stack") == "Usage: lull stack [CAPTURE...] [OPTION]...");
    CHECK(usage("metrics") == "Usage: lull metrics CAPTURE... [OPTION]...");
    CHECK(usage("rank") == "Usage: lull rank CAPTURE [OPTION]...");
  }

  TEST_CASE("unknown words are refused with the nearest one that exists") {
    const auto check = [](const std::vector<std::string>& arguments, const std::string& nearest) {
      const Run run = run_lull(arguments);
      CAPTURE(run.errors);
      CHECK(run.status == 2);
      CHECK(run.errors.find(nearest) != std::string::npos);
    };
    check({"stak", "x.ser"}, "stack");
    check({"stack", "x.ser", "-o", "y.tif", "--kep", "3"}, "--keep");
    check({"rank", "x.ser", "--best-frist", "y.mkv"}, "--best-first");
    check({"rank", "x.ser", "--metric", "laplacan"}, "laplacian");
    check({"stack", "x.ser", "-o", "y.tif", "--keep", "0%"}, "--keep");
    check({"stack", "x.ser", "-o", "y.tif", "--patch", "3"}, "--patch");
    check({"stack", "x.ser", "-o", "y.tif", "--frame", "half"}, "whole");
    check({"stack", "x.ser", "-o", "y.tif", "--finish", "wow"}, "none");
    check({"stack", "x.ser", "-o", "y.tif", "--dispersion", "on"}, "off");
    check({"stack", "x.ser", "-o", "y.tif", "--white-balance", "warm"}, "sunlight");
    check({"stack", "x.ser", "-o", "y.tif", "--white-balance", "sunlight"}, "--object venus");
    check({"stack", "x.ser", "-o", "y.tif", "--white-balance", "1,2"}, "1.4,1,1.8");
    check({"stack", "x.ser", "-o", "y.tif", "--white-balance", "1,2,0"}, "from 0.05");
    check({"stack", (LULL_SAMPLES "/highland.mkv"), "-o", "y.tif", "--white-balance", "grey"},
          "no colours");
    check({"stack", "x.ser", "-o", "y.bmp"}, ".tif");
    check({"stack", "-o", "y.tif"}, "capture");
    check({"rank", "x.ser", "--memory", "12"}, "--memory");
    check({"rank", "x.ser", "--threads", "-1"}, "--threads");
    check({"rank", "x.ser", "--count", "3"}, "--best-first");
    check({"rank", "x.ser", "--best-first", "best.txt"}, ".mkv");
    check({}, "--help");
  }

  TEST_CASE("more frames to keep than there are is refused, and nothing is written") {
    const TemporaryFolder folder;
    const Run run = run_lull({"stack", (LULL_SAMPLES "/highland.mkv"), "-o", folder.file("y.tif"),
                              "--keep", "5000", "--quiet"});
    CHECK(run.status == 2);
    CHECK(run.errors.find("only 200 frames") != std::string::npos);
    CHECK(std::filesystem::is_empty(folder.path()));
  }

  TEST_CASE("help and version are no errors") {
    CHECK(run_lull({"--help"}).status == 0);
    CHECK(run_lull({"stack", "--help"}).output.find("--keep") != std::string::npos);
    CHECK(run_lull({"--version"}).output.rfind("Lull ", 0) == 0);
  }

  TEST_CASE("FITS headers with 110 axes and more end in exit 3 wherever FITS is read") {
    // Of CFITSIO 4.2 they overwrote the memory: ended by a signal, or by whatever came next.
    const TemporaryFolder folder;
    reference_of("files/fits_structures.py", {folder.path()});
    const std::string out = folder.file("out.fits");
    const std::string sane = sample("globe_cube.fits");
    const auto runs_of = [&](const std::string& file) {
      return std::vector<std::vector<std::string>>{{"inspect", file},
                                                   {"finish", file, "-o", out},
                                                   {"stack", sane, "--dark", file, "-o", out},
                                                   {"rank", file},
                                                   {"stack", file, "-o", out},
                                                   {"stack", sane, "--flat", file, "-o", out},
                                                   {"master", file, "--kind", "dark", "-o", out}};
    };
    for (const char* name : {"bad_naxis_110", "bad_naxis_999", "bad_extension_naxis_110",
                             "bad_extension_naxis_999", "bad_dump_naxis_110", "bad_fields"}) {
      const std::string file = folder.file(std::string(name) + ".fits");
      CAPTURE(name);
      // All commands have the same readers: of captures, of pictures and of masters.
      auto runs = runs_of(file);
      if (std::string(name) != "bad_naxis_110") runs.resize(3);
      for (const std::vector<std::string>& words : runs) {
        CAPTURE(words[0]);
        const Run run = run_lull(words, {.time_limit_s = 20});
        CAPTURE(run.errors);
        CHECK(run.status == 3);
        CHECK(!fs::exists(out));
      }
      const Run judged = run_judge({sane, file});
      CAPTURE(judged.errors);
      CHECK(judged.status == 3);
    }
  }
}
