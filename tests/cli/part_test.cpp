// Covers: run/part_options, run/capture_input, calibrate/part_of_capture
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "capture/capture.h"
#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/frames.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"
#include "support/video_writer.h"

namespace {

using namespace lull::test;
using lull::FrameIndex;

lull::Box whole_of(const std::string& path) {
  const lull::Size size = lull::capture::Capture::open(path)->info().size;
  return {0, 0, size.width_px, size.height_px};
}

// Frames [first, last] of a gray capture of 8 bits, a box of them, as a capture of their own.
void write_part(const std::string& from, const std::string& to, FrameIndex first, FrameIndex last,
                const lull::Box& box) {
  const auto source = lull::capture::Capture::open(from);
  REQUIRE(source->info().bits.stored == 8);
  std::vector<Bytes> pictures;
  for (FrameIndex i = first; i <= last; ++i) {
    const auto frame = source->at(i);
    REQUIRE(frame.ok());
    Bytes picture;
    for (int y = box.y0; y < box.y1; ++y) {
      const std::byte* row =
          frame.value().planes[0].data + y * frame.value().planes[0].stride_bytes;
      picture.insert(picture.end(), row + box.x0, row + box.x1);
    }
    pictures.push_back(std::move(picture));
  }
  write_video(to, {.width_px = box.width_px(), .height_px = box.height_px()}, pictures);
}

// Frames without any light.
void write_dark(const std::string& to, int width_px, int height_px) {
  const auto samples = static_cast<std::size_t>(width_px) * static_cast<std::size_t>(height_px);
  write_video(to, {.width_px = width_px, .height_px = height_px},
              std::vector<Bytes>(4, Bytes(samples)));
}

nlohmann::json figures_of(std::vector<std::string> words) {
  words.insert(words.end(), {"--json", "--quiet"});
  const Run run = run_lull(words);
  CAPTURE(run.errors);
  REQUIRE(run.status == 0);
  return nlohmann::json::parse(run.output);
}

// NAME.fits, stacked again by its recipe.
Bytes repeated(const TemporaryFolder& folder, const std::string& name) {
  const std::string again = folder.file(name + ".again.fits");
  REQUIRE(run_lull({"stack", "--recipe", folder.file(name + ".recipe.json"), "-o", again,
                    "--report", "none", "--quiet"})
              .status == 0);
  return read_file(again);
}

void refused(const std::vector<std::string>& words, int status, const std::string& says) {
  CAPTURE(says);
  const Run run = run_lull(words);
  CAPTURE(run.errors);
  CHECK(run.status == status);
  CHECK(contains(run.errors, says));
  CHECK(run.output.empty());
}

}  // namespace

TEST_SUITE("cli/part") {
  TEST_CASE("a cropped part of a capture is ranked as a capture of that part alone") {
    const TemporaryFolder folder;
    const std::string part = folder.file("part.avi");
    write_part(sample("highland.mkv"), part, 20, 79, {33, 17, 129, 97});
    // With a dark of nothing, no marks of the sensor are looked for, which would be others.
    const lull::Box whole = whole_of(sample("highland.mkv"));
    write_dark(folder.file("dark.avi"), whole.width_px(), whole.height_px());
    write_dark(folder.file("dark_of_part.avi"), 96, 80);
    const auto alone = figures_of({"rank", part, "--dark", folder.file("dark_of_part.avi")});
    const auto within =
        figures_of({"rank", sample("highland.mkv"), "--dark", folder.file("dark.avi"), "--crop",
                    "33,17,96,80", "--frames", "20-79"});
    REQUIRE(alone.at("frames").size() == 60);
    REQUIRE(within.at("frames").size() == 60);
    for (std::size_t i = 0; i < 60; ++i) {
      CHECK(within["frames"][i]["frame"] == alone["frames"][i]["frame"].get<int>() + 20);
      CHECK(within["frames"][i]["sharpness"] == alone["frames"][i]["sharpness"]);
    }
  }

  TEST_CASE("excluded frames are gone, and the others keep their numbers; so in the video") {
    const TemporaryFolder folder;
    const auto figures =
        figures_of({"rank", sample("highland.mkv"), "--frames", "10-19", "--exclude", "12,15-16",
                    "--best-first", folder.file("b.mkv")});
    std::vector<int> numbers;
    for (const auto& frame : figures.at("frames")) numbers.push_back(frame.at("frame"));
    CHECK(numbers == std::vector<int>{10, 11, 13, 14, 17, 18, 19});
    const auto& best = figures.at("best_first");
    const auto source = lull::capture::Capture::open(sample("highland.mkv"));
    const auto video = lull::capture::Capture::open(folder.file("b.mkv"));
    for (std::size_t i = 0; i < best.size(); ++i) {
      const auto frame = video->next();
      REQUIRE(frame.ok());
      CHECK(bytes_in(frame.value()) == bytes_in(source->at(best[i].get<FrameIndex>()).value()));
    }
    CHECK_FALSE(video->next().ok());
  }

  TEST_CASE("a recipe holds the part and repeats the run; darks stay those of whole frames") {
    const TemporaryFolder folder;
    const auto figures =
        figures_of({"stack", sample("granules.mkv"), "-o", folder.file("a.fits"), "--dark",
                    sample("granules_dark.mkv"), "--crop", "9,7,97,80", "--frames", "0-39",
                    "--exclude", "3", "--finish", "none", "--frame", "whole", "--report", "none"});
    CHECK(figures.at("frames") == 39);
    const auto picture = lull::files::read_picture(folder.file("a.fits")).picture;
    CHECK(picture.size() == lull::Size{97, 80});
    CHECK(read_file(folder.file("a.fits")) == repeated(folder, "a"));
  }

  TEST_CASE("several captures make one picture: that of all their frames") {
    const TemporaryFolder folder;
    const lull::Box box = whole_of(sample("highland.mkv"));
    write_part(sample("highland.mkv"), folder.file("all.avi"), 0, 99, box);
    write_part(sample("highland.mkv"), folder.file("one.avi"), 0, 29, box);
    write_part(sample("highland.mkv"), folder.file("two.avi"), 30, 99, box);
    const auto picture = [&](std::vector<std::string> captures, const std::string& name) {
      std::vector<std::string> words = {"stack"};
      words.insert(words.end(), captures.begin(), captures.end());
      words.insert(words.end(), {"-o", folder.file(name), "--finish", "none", "--report", "none",
                                 "--pattern-noise", "off", "--keep", "30%", "--memory", "128M"});
      const auto figures = figures_of(words);
      CHECK(figures.at("frames") == 100);
      CHECK(figures.contains("captures") == (captures.size() > 1));
      if (captures.size() > 1) {
        const auto& kept = figures.at("kept_frames");
        const auto of_first =
            std::count_if(kept.begin(), kept.end(), [](const auto& index) { return index < 30; });
        const auto& shares = figures.at("captures");
        CHECK(of_first > 0);
        CHECK(shares.at(0).at("frames") == 30);
        CHECK(shares.at(0).at("kept") == of_first);
        CHECK(shares.at(1).at("kept") == static_cast<std::ptrdiff_t>(kept.size()) - of_first);
      }
      return lull::files::read_picture(folder.file(name)).picture;
    };
    const auto joined = picture({folder.file("one.avi"), folder.file("two.avi")}, "joined.fits");
    const auto whole = picture({folder.file("all.avi")}, "whole.fits");
    REQUIRE(joined.size() == whole.size());
    for (int y = 0; y < whole.size().height_px; ++y) {
      const float* a = joined.channels[0].row(y);
      REQUIRE(std::equal(a, a + whole.size().width_px, whole.channels[0].row(y)));
    }
    CHECK(read_file(folder.file("joined.fits")) == repeated(folder, "joined"));
  }

  TEST_CASE("parts that a capture does not have are refused before any work") {
    const TemporaryFolder folder;
    const std::string capture = sample("highland.mkv");  // its header counts no frames
    for (const std::string verb : {"stack", "rank", "inspect", "metrics"}) {
      CAPTURE(verb);
      std::vector<std::string> words = {verb, capture, "--quiet"};
      if (verb == "stack") words.insert(words.end(), {"-o", folder.file("o.tif")});
      const auto with = [&](const std::string& option, const std::string& value) {
        std::vector<std::string> out = words;
        out.insert(out.end(), {option, value});
        return out;
      };
      refused(with("--crop", "0,0,4000,100"), 2, "--crop 0,0,4000,100");
      refused(with("--crop", "0,0,10,100"), 2, "at least 32 px");
      refused(with("--crop", "0,0,100"), 2, "X,Y,W,H");
      refused(with("--crop", "-1,0,100,100"), 2, "X,Y,W,H");
      refused(with("--frames", "900-100"), 2, "900-100 is out of order; give 100-900");
      refused(with("--frames", "100-900"), 2, "has no frame 900");
      refused(with("--frames", "a-9"), 2, "12,40-60");
      refused(with("--exclude", "12,200"), 2, "has no frame 200");
      refused(with("--exclude", "40-60,12"), 2, "12 is out of order");
      refused(with("--exclude", "0-199"), 2, "leaves no frame");
    }
    CHECK(std::filesystem::is_empty(folder.path()));
  }

  TEST_CASE("captures that differ in size or mosaic are not stacked together") {
    const TemporaryFolder folder;
    refused({"stack", sample("highland.mkv"), sample("granules.mkv"), "-o", folder.file("o.tif"),
             "--quiet"},
            3, "cannot be combined");
    refused({"stack", sample("highland.mkv"), sample("belts_mosaic.nut"), "-o",
             folder.file("o.tif"), "--quiet"},
            3, "mosaic");
    refused({"stack", sample("highland.mkv"), folder.file("none.ser"), "-o", folder.file("o.tif")},
            3, "none.ser");
    CHECK(std::filesystem::is_empty(folder.path()));
  }
}
